package worker

import (
	"bufio"
	"context"
	"errors"
	"io"
	"os/exec"
	"sync"
	"time"

	"counterpoise/kernel/server"
)

// errDied is the error of a call whose worker has ended; the cause is in the
// process.
var errDied = errors.New("the worker has ended")

// errNotTold is the error of a call that the worker did not hear of.
var errNotTold = errors.New("the worker had ended before the call")

// A process is one worker as the front sees it.
type process struct {
	cmd    *exec.Cmd
	sender *sender
	grace  time.Duration
	ready  chan struct{} // closed when it has said so
	begun  chan struct{} // has an element when a call has begun
	dead   chan struct{} // closed when it has ended and cause is set
	cause  server.Fault

	mu      sync.Mutex
	calls   map[uint64]chan []byte
	outputs map[uint64]*cellOutput
	order   []uint64 // of outputs, the oldest first
	last    *cellOutput
	reason  *server.Fault // why the front ended it
	cell    uint64        // the call that executes a cell, or 0
	known   bool          // its end is told with the result of a cell
}

// A cellOutput is where the output of one call goes, also after its end.
type cellOutput struct {
	out server.Output
	ctx context.Context // ends with the call
}

func startProcess(o Options) (*process, error) {
	cmd := o.Command()
	in, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	complaints, err := cmd.StderrPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	p := &process{
		cmd:     cmd,
		sender:  newSender(in),
		grace:   o.Grace,
		ready:   make(chan struct{}),
		begun:   make(chan struct{}, 1),
		dead:    make(chan struct{}),
		calls:   map[uint64]chan []byte{},
		outputs: map[uint64]*cellOutput{},
	}
	go p.live(out, complaints)
	if o.Memory > 0 {
		go p.watchMemory(o.Memory)
	}
	return p, nil
}

// live follows a worker from its start to its end.
func (p *process) live(out, complaints io.Reader) {
	var reading sync.WaitGroup
	words := &lastWords{forward: p.complain}
	reading.Go(func() { words.follow(complaints) })
	p.read(bufio.NewReaderSize(out, 32<<10))
	_ = p.cmd.Process.Kill() // its pipe is closed or out of step: it is of no use
	reading.Wait()
	err := p.cmd.Wait()

	p.mu.Lock()
	defer p.mu.Unlock()
	p.cause = causeOfDeath(err, words, p.reason)
	p.known = p.known || p.cell != 0
	close(p.dead)
}

// complain shows what the worker wrote to its standard error under the cell
// that runs or ran last.
func (p *process) complain(text string) {
	p.mu.Lock()
	c := p.last
	p.mu.Unlock()
	if c != nil {
		c.out.Stream("stderr", text)
	}
}

// kill ends the worker; reason is what to tell, or nil.
func (p *process) kill(reason *server.Fault) {
	p.mu.Lock()
	if p.reason == nil {
		p.reason = reason
	}
	p.mu.Unlock()
	_ = p.cmd.Process.Kill() // it may have ended by itself
}

// told reports whether a cell's result tells of the process's end.
func (p *process) told() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.known
}

func (p *process) isReady() bool {
	select {
	case <-p.ready:
		return true
	default:
		return false
	}
}

func (p *process) isDead() bool {
	select {
	case <-p.dead:
		return true
	default:
		return false
	}
}

// idle reports whether no call waits for a result.
func (p *process) idle() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.calls) == 0
}

// call sends a call and waits for its result: the bytes of a JSON value. When
// ctx ends, the worker is told and has its grace to come to rest.
func (p *process) call(ctx context.Context, k kind, id uint64, v any, out server.Output) ([]byte, error) {
	running, end := context.WithCancel(ctx)
	defer end()
	reply := make(chan []byte, 1)
	p.begin(id, reply, running, out)
	defer p.end(id)
	if k == kindExecute {
		p.executing(id)
		defer p.executing(0)
	}
	if err := p.sender.send(k, id, v); err != nil {
		p.kill(nil)
		<-p.dead
		return nil, errNotTold
	}
	select {
	case r := <-reply:
		return r, nil
	case <-p.dead:
		return p.lastReply(reply)
	case <-ctx.Done():
	}
	_ = p.sender.send(kindInterrupt, id, nil) // if it fails, the worker is dead
	rest := time.NewTimer(p.grace)
	defer rest.Stop()
	select {
	case r := <-reply:
		return r, nil
	case <-p.dead:
	case <-rest.C:
		p.kill(&server.Fault{
			Name:  "Interrupted",
			Value: "the cell did not stop when it was interrupted, so its process was ended",
		})
		<-p.dead
	}
	return p.lastReply(reply)
}

// lastReply takes a result that came just before the worker ended.
func (p *process) lastReply(reply chan []byte) ([]byte, error) {
	select {
	case r := <-reply:
		return r, nil
	default:
		return nil, errDied
	}
}

func (p *process) begin(id uint64, reply chan []byte, running context.Context, out server.Output) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.calls[id] = reply
	select {
	case p.begun <- struct{}{}:
	default:
	}
	if out == nil {
		return
	}
	p.last = &cellOutput{out, running}
	p.outputs[id] = p.last
	p.order = append(p.order, id)
	for len(p.outputs) > maxOutputs {
		delete(p.outputs, p.order[0])
		p.order = p.order[1:]
	}
	if len(p.order) > 2*maxOutputs { // most of them released
		p.order = append([]uint64{}, p.order[len(p.order)-maxOutputs:]...)
	}
}

// executing notes which call executes a cell.
func (p *process) executing(id uint64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.cell = id
}

func (p *process) end(id uint64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.calls, id)
}

func (p *process) answer(f frame) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if reply, ok := p.calls[f.id]; ok {
		select {
		case reply <- f.payload:
		default:
		}
	}
}

func (p *process) output(id uint64) *cellOutput {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.outputs[id]
}

// release forgets a cell of which no more output can come.
func (p *process) release(id uint64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.outputs, id)
}
