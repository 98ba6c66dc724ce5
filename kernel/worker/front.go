package worker

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"os/exec"
	"sync"
	"time"

	"counterpoise/kernel/server"
)

// Defaults of [Options].
const (
	// defaultGrace is how long an interrupted call has to come to rest.
	// Interpreted code needs a millisecond; a compiled library that does not
	// look at the interrupt may be in the middle of a long computation.
	defaultGrace = 3 * time.Second
	// assistTime bounds completion and inspection: later nobody waits for it.
	assistTime = 10 * time.Second
	// maxOutputs bounds the ended cells whose late output still finds them.
	maxOutputs = 4096
)

// Options say how workers are started and bounded.
type Options struct {
	// Command makes the command that runs [Serve] on its standard input and
	// output. It is called once for each worker.
	Command func() *exec.Cmd
	// Grace is how long an interrupted cell may take to come to rest before
	// the worker is ended; 0 means 3 s.
	Grace time.Duration
	// Memory bounds a worker's resident memory in bytes; 0 means no bound. It
	// needs Linux's /proc.
	Memory int64
	// Logf takes a line about something that went wrong; it may be nil.
	Logf func(format string, args ...any)
}

// A Front is the front process's end: an evaluator whose cells run in a worker
// process, one worker after the other.
type Front struct {
	options Options

	mu      sync.Mutex
	process *process // the current worker; nil if it could not be started
	lost    string   // why state was lost, until a cell has been told
	closed  bool
	calls   uint64 // ids given
	last    server.Output
}

var _ server.CommHandler = (*Front)(nil)

// Start starts the first worker and does not wait for it.
func Start(o Options) *Front {
	if o.Grace == 0 {
		o.Grace = defaultGrace
	}
	if o.Logf == nil {
		o.Logf = func(string, ...any) {}
	}
	f := &Front{options: o}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.startLocked()
	return f
}

// startLocked starts a worker, and another one when it dies.
func (f *Front) startLocked() {
	p, err := startProcess(f.options)
	if err != nil {
		f.options.Logf("worker: %v", err)
		f.process = nil
		return
	}
	f.process = p
	go func() {
		<-p.dead
		f.died(p)
	}()
}

// died is called when a worker has ended.
func (f *Front) died(p *process) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.diedLocked(p)
}

func (f *Front) diedLocked(p *process) {
	if f.process != p || f.closed {
		return
	}
	f.options.Logf("worker ended: %s", p.cause.Value)
	if !p.isReady() {
		f.process = nil // it would not start the second time either: wait for a cell
		return
	}
	f.startLocked()
	if f.last != nil && !p.told() {
		f.lost = p.cause.Value
		f.last.Stream("stderr", p.cause.Name+": "+p.cause.Value+"\n"+stateGone+"\n")
	}
}

// begin returns a worker and an id for the next call.
func (f *Front) begin() (*process, uint64, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.closed {
		return nil, 0, errClosed
	}
	if p := f.process; p != nil && p.isDead() {
		f.diedLocked(p)
	}
	if f.process == nil {
		f.startLocked()
	}
	if f.process == nil {
		return nil, 0, errNoWorker
	}
	f.calls++
	return f.process, f.calls, nil
}

// call has a worker do something. A worker that was found dead before it could
// be told is replaced, once. Without a worker, p is nil.
func (f *Front) call(ctx context.Context, k kind, v any, out server.Output) (p *process, reply []byte, err error) {
	for range 2 {
		var id uint64
		if p, id, err = f.begin(); err != nil {
			return nil, nil, err
		}
		reply, err = p.call(ctx, k, id, v, out)
		if !errors.Is(err, errNotTold) {
			break
		}
	}
	return p, reply, err
}

var (
	errClosed   = errors.New("the kernel is closed")
	errNoWorker = errors.New("the process that runs the cells cannot be started: see the kernel's log")
)

// Execute implements server.Evaluator.
func (f *Front) Execute(ctx context.Context, cell server.Cell, out server.Output) server.Result {
	p, reply, err := f.call(ctx, kindExecute, cell, out)
	if p == nil {
		return server.Result{Fault: &server.Fault{Name: "Kernel", Value: err.Error()}}
	}
	f.mu.Lock()
	f.last = out
	f.mu.Unlock()
	if err != nil {
		return server.Result{Lost: true, Fault: fault(p, err)}
	}
	var r result
	if err := json.Unmarshal(reply, &r); err != nil {
		return server.Result{Fault: &server.Fault{Name: "Kernel", Value: "the worker's result cannot be read: " + err.Error()}}
	}
	done := r.unpack()
	if full := p.endIfFull(f.options.Memory); full != nil {
		done.Lost = true
		if done.Fault == nil {
			done.Fault = full
		} else {
			done.Fault.Traceback = append(done.Fault.Traceback, stateGone)
			done.Fault.Value += ". " + stateGone
		}
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.lost != "" {
		done.Lost, f.lost = true, ""
	}
	return done
}

// fault tells why a call has no result. Whoever reads it must learn that the
// state is gone.
func fault(p *process, err error) *server.Fault {
	if !errors.Is(err, errDied) && !errors.Is(err, errNotTold) {
		return &server.Fault{Name: "Kernel", Value: err.Error()}
	}
	return andGone(p.cause)
}

// andGone adds to a cause of death what it means for the cells.
func andGone(c server.Fault) *server.Fault {
	c.Traceback = append([]string{c.Name + ": " + c.Value}, c.Traceback...)
	c.Traceback = append(c.Traceback, stateGone)
	c.Value += ". " + stateGone
	return &c
}

// stateGone is what a person is told together with the cause.
const stateGone = "The kernel was started anew: what earlier cells declared is gone, so run them again."

// Complete implements server.Evaluator.
func (f *Front) Complete(ctx context.Context, code string, pos int) server.Completion {
	var c server.Completion
	f.assist(ctx, kindComplete, codeCall{Code: code, Pos: pos}, &c)
	return c
}

// Inspect implements server.Evaluator.
func (f *Front) Inspect(ctx context.Context, code string, pos, detail int) server.Inspection {
	var i inspection
	f.assist(ctx, kindInspect, codeCall{code, pos, detail}, &i)
	return server.Inspection{Found: i.Found, Bundle: i.Bundle.unpack()}
}

// IsComplete implements server.Evaluator.
func (f *Front) IsComplete(code string) server.Completeness {
	c := server.Completeness{Status: "unknown"}
	f.assist(context.Background(), kindIsComplete, codeCall{Code: code}, &c)
	return c
}

// assist asks about code. Without an answer, into stays as it is.
func (f *Front) assist(ctx context.Context, k kind, c codeCall, into any) {
	ctx, cancel := context.WithTimeout(ctx, assistTime)
	defer cancel()
	if _, reply, err := f.call(ctx, k, c, nil); err == nil {
		if err := json.Unmarshal(reply, into); err != nil {
			f.options.Logf("worker: %v", err)
		}
	}
}

// HandleComm implements server.CommHandler.
func (f *Front) HandleComm(ctx context.Context, m server.CommMessage, out server.Output) bool {
	known := false
	_, reply, err := f.call(ctx, kindComm, commCall{m}, out)
	return err == nil && json.Unmarshal(reply, &known) == nil && known
}

// Close ends the worker.
func (f *Front) Close() error {
	f.mu.Lock()
	f.closed = true
	p := f.process
	f.mu.Unlock()
	if p != nil {
		p.kill(nil)
		<-p.dead
	}
	return nil
}

// PID returns the process id of the current worker, or 0.
func (f *Front) PID() int {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.process == nil {
		return 0
	}
	return f.process.cmd.Process.Pid
}

// read takes the worker's frames until they end.
func (p *process) read(r *bufio.Reader) {
	for {
		f, err := readFrame(r)
		if err != nil {
			return
		}
		switch f.kind {
		case kindReady:
			close(p.ready)
		case kindResult:
			p.answer(f)
		case kindRelease:
			p.release(f.id)
		default:
			p.show(f)
		}
	}
}

// show hands one piece of output to its cell.
func (p *process) show(f frame) {
	if f.kind == kindAsk {
		var q question
		if json.Unmarshal(f.payload, &q) == nil {
			go p.ask(f.id, q)
		}
		return
	}
	c := p.output(f.id)
	if c == nil {
		return
	}
	switch f.kind {
	case kindStdout:
		c.out.Stream("stdout", string(f.payload))
	case kindStderr:
		c.out.Stream("stderr", string(f.payload))
	case kindDisplay:
		var d display
		if json.Unmarshal(f.payload, &d) == nil {
			c.out.Display(d.Bundle.unpack(), d.ID, d.Update)
		}
	case kindClear:
		c.out.ClearOutput(string(f.payload) == "true")
	case kindSendComm:
		var m commCall
		if json.Unmarshal(f.payload, &m) == nil {
			c.out.Comm(m.Message)
		}
	}
}

// ask puts a cell's question and sends the answer.
func (p *process) ask(id uint64, q question) {
	a := answer{Error: "the cell has ended: ask while it runs"}
	if c := p.output(q.Call); c != nil {
		text, err := c.out.Input(c.ctx, q.Prompt, q.Password)
		a = answer{Text: text}
		if err != nil {
			a.Error = err.Error()
		}
	}
	_ = p.sender.send(kindAnswer, id, a) // a worker that is gone needs no answer
}
