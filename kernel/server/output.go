package server

import (
	"context"
	"errors"
	"maps"
	"slices"
	"sync"
	"time"
	"unicode/utf8"

	"counterpoise/kernel/wire"
)

const (
	// streamDelay is how long printed text may wait for more of it. The eye
	// does not see it, and ten thousand lines become a few messages.
	streamDelay = 25 * time.Millisecond
	// streamBatch is how much printed text is sent without further waiting.
	streamBatch = 256 << 10
)

// An output puts what one cell shows on iopub, with that cell as its parent.
type output struct {
	server  *Server
	request *request
	silent  bool
	input   bool // Input may be used

	mu     sync.Mutex
	stream string // name of the stream that text belongs to
	text   []byte
	timer  *time.Timer
	armed  bool
	over   bool // the cell has ended
}

// Stream implements Output.
func (o *output) Stream(name, text string) {
	if o.silent || text == "" {
		return
	}
	if name != "stderr" {
		name = "stdout"
	}
	o.mu.Lock()
	defer o.mu.Unlock()
	if name != o.stream {
		o.flushLocked(true)
		o.stream = name
	}
	o.text = append(o.text, text...)
	switch {
	case len(o.text) >= streamBatch:
		o.flushLocked(false)
	case o.armed:
	case o.timer == nil:
		o.armed = true
		o.timer = time.AfterFunc(streamDelay, o.late)
	default:
		o.armed = true
		o.timer.Reset(streamDelay)
	}
}

func (o *output) late() {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.armed = false
	o.flushLocked(o.over)
}

func (o *output) flush(all bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.flushLocked(all)
}

// flushLocked sends the text so far. Unless all is to go, bytes that may be
// the beginning of a character wait for the rest of it.
func (o *output) flushLocked(all bool) {
	send := o.text
	if !all {
		send = send[:len(send)-partialRune(send)]
	}
	if len(send) == 0 {
		return
	}
	o.server.publish(o.request.Message, "stream", wire.Stream{Name: o.stream, Text: string(send)})
	rest := o.text[len(send):]
	if cap(o.text) > streamBatch {
		o.text = slices.Clone(rest)
	} else {
		o.text = append(o.text[:0], rest...)
	}
}

// partialRune returns how many bytes at the end begin a character that is not
// whole.
func partialRune(b []byte) int {
	for n := 1; n < utf8.UTFMax && n <= len(b); n++ {
		c := b[len(b)-n]
		if utf8.RuneStart(c) {
			if !utf8.FullRune(b[len(b)-n:]) {
				return n
			}
			return 0
		}
	}
	return 0
}

// ended says that the cell has ended; what comes now is late output.
func (o *output) ended() {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.over = true
}

// publish sends a message after the text that was printed before it.
func (o *output) publish(kind string, content any) {
	if o.silent {
		return
	}
	o.mu.Lock()
	defer o.mu.Unlock()
	o.flushLocked(true)
	o.server.publish(o.request.Message, kind, content)
}

// Display implements Output.
func (o *output) Display(b Bundle, id string, update bool) {
	kind := "display_data"
	if update {
		kind = "update_display_data"
	}
	o.publish(kind, displayContent(b, id))
}

// ClearOutput implements Output.
func (o *output) ClearOutput(wait bool) {
	o.publish("clear_output", map[string]bool{"wait": wait})
}

// Comm implements Output. Comms work in silent cells too: they are no output.
func (o *output) Comm(m CommMessage) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.flushLocked(true)
	o.server.sendComm(o.request, m)
}

var (
	errNoInput  = errors.New("this front end does not take input here: run the cell where somebody can answer")
	errTooLate  = errors.New("the cell has ended: ask while it runs")
	errNoAnswer = errors.New("nothing was answered")
)

// Input implements Output.
func (o *output) Input(ctx context.Context, prompt string, password bool) (string, error) {
	if !o.input {
		return "", errNoInput
	}
	o.mu.Lock()
	over := o.over
	o.flushLocked(true)
	o.mu.Unlock()
	if over {
		return "", errTooLate
	}
	return o.server.askInput(ctx, o.request, prompt, password)
}

func kinds(data map[string]any) []string { return slices.Sorted(maps.Keys(data)) }
