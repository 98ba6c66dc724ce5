package worker

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"

	"counterpoise/kernel/server"
)

var errTooLarge = errors.New("too large to show")

// maxStack bounds a goroutine's stack, so that endless recursion ends the worker
// before it has filled the computer's memory. The Go runtime's own bound is
// four times as much.
const maxStack = 256 << 20

// Serve runs an evaluator for the front at the other end of r and w, until r
// ends. It then returns at once, whatever still runs: the process is to end.
func Serve(r io.Reader, w io.Writer, newEvaluator func() (server.Evaluator, error)) error {
	debug.SetMaxStack(maxStack)
	e, err := newEvaluator()
	if err != nil {
		return err
	}
	s := &serving{
		evaluator: e,
		sender:    newSender(w),
		tidier:    newTidier(),
		calls:     make(chan frame, 64),
		stops:     map[uint64]context.CancelFunc{},
		answers:   map[uint64]chan answer{},
	}
	if err := s.sender.send(kindReady, 0, nil); err != nil {
		return err
	}
	go s.work()
	return s.read(bufio.NewReaderSize(r, 16<<10))
}

// serving is the state of the worker's end.
type serving struct {
	evaluator server.Evaluator
	sender    *sender
	tidier    *tidier
	calls     chan frame
	asked     atomic.Uint64
	current   atomic.Uint64 // id of the last call that may print

	mu      sync.Mutex
	stops   map[uint64]context.CancelFunc // of the calls that wait or run
	stopped map[uint64]bool               // interrupted before they began
	answers map[uint64]chan answer
}

// read takes frames. Calls are queued, the rest is done at once.
func (s *serving) read(r *bufio.Reader) error {
	for {
		f, err := readFrame(r)
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		switch f.kind {
		case kindInterrupt:
			s.interrupt(f.id)
		case kindAnswer:
			s.answered(f)
		default:
			s.calls <- f
		}
	}
}

func (s *serving) interrupt(id uint64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if stop, ok := s.stops[id]; ok {
		stop()
		return
	}
	s.stopped = map[uint64]bool{id: true}
}

func (s *serving) answered(f frame) {
	var a answer
	if json.Unmarshal(f.payload, &a) != nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if c, ok := s.answers[f.id]; ok {
		delete(s.answers, f.id)
		c <- a
	}
}

// begin makes the context of a call.
func (s *serving) begin(id uint64) (context.Context, func()) {
	ctx, stop := context.WithCancel(context.Background())
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.stopped[id] {
		stop()
	}
	s.stops[id] = stop
	return ctx, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		stop()
		delete(s.stops, id)
	}
}

// work makes the calls one after the other, each in a goroutine of its own:
// runtime.Goexit ends a goroutine and cannot be stopped.
func (s *serving) work() {
	for f := range s.calls {
		done := make(chan struct{})
		go func() {
			defer close(done)
			s.call(f)
		}()
		<-done
	}
}

// call makes one call and sends its result, whatever happens in it.
func (s *serving) call(f frame) {
	ctx, done := s.begin(f.id)
	defer done()
	var reply any = result{Fault: &server.Fault{Name: "Goexit", Value: "the cell ended its goroutine by runtime.Goexit"}}
	defer func() {
		if p := recover(); p != nil {
			reply = result{Fault: &server.Fault{Name: "Kernel", Value: fmt.Sprintf("the kernel failed in this cell: %v", p)}}
		}
		s.tidier.tidy()
		if err := s.sender.send(kindResult, f.id, reply); err != nil {
			// What cannot be sent is said instead.
			_ = s.sender.send(kindResult, f.id, result{Fault: &server.Fault{Name: "Result", Value: err.Error()}})
		}
	}()
	reply = s.make(ctx, f, reply)
}

// make makes a call and returns its result.
func (s *serving) make(ctx context.Context, f frame, reply any) any {
	switch f.kind {
	case kindExecute:
		var cell server.Cell
		if json.Unmarshal(f.payload, &cell) == nil {
			out := s.newOutput(f.id)
			reply = packResult(s.evaluator.Execute(ctx, cell, out))
		}
	case kindComm:
		var c commCall
		if json.Unmarshal(f.payload, &c) == nil {
			h, ok := s.evaluator.(server.CommHandler)
			reply = ok && h.HandleComm(ctx, c.Message, s.newOutput(f.id))
		}
	case kindComplete, kindInspect, kindIsComplete:
		var c codeCall
		if json.Unmarshal(f.payload, &c) == nil {
			reply = s.assist(ctx, f.kind, c)
		}
	}
	return reply
}

func (s *serving) assist(ctx context.Context, k kind, c codeCall) any {
	switch k {
	case kindComplete:
		return s.evaluator.Complete(ctx, c.Code, c.Pos)
	case kindInspect:
		found := s.evaluator.Inspect(ctx, c.Code, c.Pos, c.Detail)
		return inspection{found.Found, pack(found.Bundle)}
	}
	return s.evaluator.IsComplete(c.Code)
}

// An output sends what a cell shows to the front, under the call's id.
type output struct {
	serving *serving
	id      uint64
}

// newOutput returns an output. When nothing refers to it any more, no output
// can come, and the front is told that it may forget the cell.
func (s *serving) newOutput(id uint64) *output {
	s.current.Store(id)
	o := &output{s, id}
	runtime.AddCleanup(o, func(id uint64) { _ = s.sender.send(kindRelease, id, nil) }, id)
	return o
}

func (o *output) Stream(name, text string) {
	if text == "" {
		return
	}
	k := kindStdout
	if name == "stderr" {
		k = kindStderr
	}
	o.serving.sender.print(k, o.id, text)
}

func (o *output) Display(b server.Bundle, id string, update bool) {
	err := o.serving.sender.send(kindDisplay, o.id, display{pack(b), id, update})
	if err != nil {
		o.Stream("stderr", fmt.Sprintf("nothing shown: %v\n", err))
	}
}

func (o *output) ClearOutput(wait bool) {
	_ = o.serving.sender.send(kindClear, o.id, wait) // a broken pipe shows at the reading end
}

func (o *output) Comm(m server.CommMessage) {
	if err := o.serving.sender.send(kindSendComm, o.id, commCall{m}); err != nil {
		o.Stream("stderr", fmt.Sprintf("comm message not sent: %v\n", err))
	}
}

func (o *output) Input(ctx context.Context, prompt string, password bool) (string, error) {
	s := o.serving
	id := s.asked.Add(1)
	c := make(chan answer, 1)
	s.mu.Lock()
	s.answers[id] = c
	s.mu.Unlock()
	if err := s.sender.send(kindAsk, id, question{o.id, prompt, password}); err != nil {
		return "", err
	}
	select {
	case a := <-c:
		if a.Error != "" {
			return "", errors.New(a.Error)
		}
		return a.Text, nil
	case <-ctx.Done():
		s.mu.Lock()
		delete(s.answers, id)
		s.mu.Unlock()
		return "", ctx.Err()
	}
}
