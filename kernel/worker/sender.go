package worker

import (
	"encoding/binary"
	"encoding/json"
	"io"
	"sync"
	"time"
)

const (
	// gatherTime is how long printed text may wait in the worker for more.
	gatherTime = time.Millisecond
	// gatherBytes is how much may wait; then whoever prints writes the pipe,
	// and waits there if the front is slower.
	gatherBytes = 64 << 10
)

// A sender writes frames. Printed text is gathered, everything else goes at
// once; the order is kept. It is safe for concurrent use.
type sender struct {
	writing sync.Mutex // held while the pipe is written
	w       io.Writer

	mu     sync.Mutex
	queue  []byte
	spare  []byte
	tail   int // where the last frame begins if text may be added to it, or -1
	timer  *time.Timer
	armed  bool
	failed error
}

func newSender(w io.Writer) *sender { return &sender{w: w, tail: -1} }

// send queues one frame whose payload is v as JSON, or v itself if it is
// bytes, and writes what is queued.
func (s *sender) send(k kind, id uint64, v any) error {
	payload, ok := v.([]byte)
	if !ok && v != nil {
		var err error
		if payload, err = json.Marshal(v); err != nil {
			return err
		}
	}
	if len(payload) > maxPayload {
		return errTooLarge
	}
	s.mu.Lock()
	s.queue = appendHeader(s.queue, k, id, len(payload))
	s.queue = append(s.queue, payload...)
	s.tail = -1
	s.mu.Unlock()
	return s.flush()
}

// print queues text, added to the frame before where that is of the same kind.
func (s *sender) print(k kind, id uint64, text string) {
	s.mu.Lock()
	if s.tail < 0 || kind(s.queue[s.tail]) != k || binary.BigEndian.Uint64(s.queue[s.tail+1:]) != id {
		s.tail = len(s.queue)
		s.queue = appendHeader(s.queue, k, id, 0)
	}
	s.queue = append(s.queue, text...)
	binary.BigEndian.PutUint32(s.queue[s.tail+9:], uint32(len(s.queue)-s.tail-frameHeader))
	full := len(s.queue) >= gatherBytes
	if !full && !s.armed {
		s.armed = true
		if s.timer == nil {
			s.timer = time.AfterFunc(gatherTime, s.late)
		} else {
			s.timer.Reset(gatherTime)
		}
	}
	s.mu.Unlock()
	if full {
		_ = s.flush() // a broken pipe shows at the reading end
	}
}

func (s *sender) late() {
	s.mu.Lock()
	s.armed = false
	s.mu.Unlock()
	_ = s.flush()
}

// flush writes what is queued.
func (s *sender) flush() error {
	s.writing.Lock()
	defer s.writing.Unlock()
	s.mu.Lock()
	batch := s.queue
	s.queue, s.spare, s.tail = s.spare[:0], nil, -1
	s.mu.Unlock()
	if len(batch) == 0 {
		return s.failed
	}
	if _, err := s.w.Write(batch); err != nil {
		s.failed = err
	}
	if cap(batch) <= 4*gatherBytes {
		s.mu.Lock()
		s.spare = batch
		s.mu.Unlock()
	}
	return s.failed
}
