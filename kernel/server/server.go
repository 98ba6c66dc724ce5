// Package server is the order of messages: it takes Jupyter's requests, has an
// [Evaluator] run the cells one after the other, and says what happened on the
// right channel in the right order. It knows neither sockets nor Go code, so
// both can be left out of its tests.
//
// The rules are those of Jupyter's messaging protocol 5.5 and its enhancement
// proposals 65 (iopub welcome), 80 (features) and 91 (subshells, not claimed):
// https://jupyter-client.readthedocs.io/en/stable/messaging.html.
package server

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"time"

	"counterpoise/kernel/wire"
)

// maxWaiting bounds the requests that wait for the shell. A client that sends
// more waits itself.
const maxWaiting = 4096

// Options are what a Server needs besides an evaluator.
type Options struct {
	// Send hands a message to the client that its identities name, or on
	// iopub to everybody. It may wait for slow readers.
	Send func(wire.Channel, *wire.Message) error
	// Sender makes the headers. It must be the one that the sockets use.
	Sender *wire.Sender
	// Version is this program's version, shown in kernel_info.
	Version string
	// Logf takes a line about something that went wrong; it may be nil.
	Logf func(format string, args ...any)
}

// A Server answers the requests of one kernel.
type Server struct {
	evaluator Evaluator
	options   Options
	done      chan struct{} // closed when a shutdown has been answered
	end       sync.Once
	quit      context.Context // cancelled at shutdown: ends the cell that runs
	cancel    context.CancelFunc

	shell  chan *request
	served chan struct{} // closed when the shell has ended

	mu       sync.Mutex
	received uint64             // requests received on shell so far
	abort    uint64             // execute requests received up to here are aborted
	stop     context.CancelFunc // interrupts what the shell runs; nil if nothing

	count   int // executions that were counted; the shell's goroutine only
	history history
	comms   comms
	stdin   stdin
}

// A request is one message on its way through.
type request struct {
	*wire.Message
	channel wire.Channel
	number  uint64 // in order of arrival on shell
	last    bool   // the kernel ends when this has been served
}

// New returns a server whose requests go to the evaluator e.
func New(e Evaluator, o Options) *Server {
	if o.Logf == nil {
		o.Logf = func(string, ...any) {}
	}
	quit, cancel := context.WithCancel(context.Background())
	s := &Server{
		evaluator: e,
		options:   o,
		done:      make(chan struct{}),
		quit:      quit,
		cancel:    cancel,
		shell:     make(chan *request, maxWaiting),
		served:    make(chan struct{}),
	}
	s.stdin.waiting = map[string]chan string{}
	s.comms.open = map[string]string{}
	go s.serveShell()
	return s
}

// Start tells that the kernel is there. Call it when the sockets are bound.
func (s *Server) Start() {
	s.publish(nil, "status", map[string]string{"execution_state": "starting"})
}

// Done is closed when the kernel has been asked to shut down and has answered.
func (s *Server) Done() <-chan struct{} { return s.done }

// closeTime is how long closing waits for the cell that runs to say its last.
const closeTime = 500 * time.Millisecond

// Close ends what runs and releases the evaluator.
func (s *Server) Close() error {
	s.cancel()
	s.finish()
	err := s.evaluator.Close()
	select {
	case <-s.served:
	case <-time.After(closeTime):
	}
	return err
}

func (s *Server) finish() { s.end.Do(func() { close(s.done) }) }

// Handle takes one message. It may be called at once for different channels.
func (s *Server) Handle(ch wire.Channel, m *wire.Message) {
	r := &request{Message: m, channel: ch}
	switch {
	case ch == wire.Stdin:
		s.answerInput(m)
	case ch == wire.Control || m.Header.Type == "shutdown_request":
		s.serve(r, controlHandlers[m.Header.Type])
	case ch == wire.Shell:
		s.mu.Lock()
		s.received++
		r.number = s.received
		s.mu.Unlock()
		select {
		case s.shell <- r:
		case <-s.quit.Done():
		}
	}
}

// A handler answers one type of request.
type handler func(s *Server, r *request) error

// controlHandlers answer on control, at once, whatever runs. Types that are
// not listed are not claimed: they get busy and idle and no reply.
var controlHandlers = map[string]handler{
	"kernel_info_request": (*Server).kernelInfo,
	"interrupt_request":   (*Server).interruptRequest,
	"shutdown_request":    (*Server).shutdown,
}

// shellHandlers answer on shell, one at a time.
var shellHandlers = map[string]handler{
	"kernel_info_request": (*Server).kernelInfo,
	"execute_request":     (*Server).execute,
	"complete_request":    (*Server).complete,
	"inspect_request":     (*Server).inspect,
	"is_complete_request": (*Server).isComplete,
	"history_request":     (*Server).historyRequest,
	"comm_info_request":   (*Server).commInfo,
	"comm_open":           (*Server).commMessage,
	"comm_msg":            (*Server).commMessage,
	"comm_close":          (*Server).commMessage,
}

func (s *Server) serveShell() {
	defer close(s.served)
	for {
		select {
		case r := <-s.shell:
			s.serve(r, shellHandlers[r.Header.Type])
		case <-s.quit.Done():
			return
		}
	}
}

// serve puts busy and idle round the handling of a request.
func (s *Server) serve(r *request, h handler) {
	s.status(r, "busy")
	defer func() {
		s.status(r, "idle")
		if r.last {
			s.finish()
		}
	}()
	defer func() {
		if p := recover(); p != nil {
			s.options.Logf("%s: %v", r.Header.Type, p)
			s.refuse(r, fmt.Errorf("the kernel failed at this request: %v", p))
		}
	}()
	if h == nil {
		return
	}
	if err := h(s, r); err != nil {
		s.refuse(r, err)
	}
}

// refuse answers a request whose content cannot be used. Messages that have no
// reply get none.
func (s *Server) refuse(r *request, err error) {
	s.options.Logf("%s: %v", r.Header.Type, err)
	kind, ok := replyType(r.Header.Type)
	if !ok {
		return
	}
	s.reply(r, kind, wire.ErrorReply{
		Error:           wire.Error{Status: "error", Name: "BadRequest", Value: err.Error(), Traceback: []string{err.Error()}},
		ExecutionCount:  s.countIfShell(r),
		Payload:         []any{},
		UserExpressions: map[string]any{},
	})
}

// countIfShell returns the execution count, which only the shell may read.
func (s *Server) countIfShell(r *request) int {
	if r.channel == wire.Shell && r.Header.Type != "shutdown_request" {
		return s.count
	}
	return 0
}

func replyType(request string) (string, bool) {
	const suffix = "_request"
	if n := len(request) - len(suffix); n > 0 && request[n:] == suffix {
		return request[:n] + "_reply", true
	}
	return "", false
}

func (s *Server) status(r *request, state string) {
	s.publish(r.Message, "status", map[string]string{"execution_state": state})
}

// reply answers a request on the channel that it came by.
func (s *Server) reply(r *request, kind string, content any) {
	s.send(r.channel, r.Identities, r.Message, kind, content)
}

// publish tells everybody. parent may be nil.
func (s *Server) publish(parent *wire.Message, kind string, content any) {
	topic := "kernel." + s.options.Sender.Session() + "." + kind
	s.send(wire.IOPub, [][]byte{[]byte(topic)}, parent, kind, content)
}

func (s *Server) send(ch wire.Channel, to [][]byte, parent *wire.Message, kind string, content any) {
	s.sendMessage(ch, &wire.Message{Identities: to}, parent, kind, content)
}

// sendMessage completes m and sends it.
func (s *Server) sendMessage(ch wire.Channel, m *wire.Message, parent *wire.Message, kind string, content any) string {
	raw, err := json.Marshal(content)
	if err != nil {
		s.options.Logf("%s: %v", kind, err)
		return ""
	}
	m.Header, m.Content = s.options.Sender.Header(kind), raw
	if parent != nil {
		m.Parent = parent.RawHeader
	}
	if err := s.options.Send(ch, m); err != nil {
		s.options.Logf("%s: %v", kind, err)
	}
	return m.Header.ID
}

// decode reads a request's content.
func decode(r *request, into any) error {
	if err := json.Unmarshal(r.Content, into); err != nil {
		return fmt.Errorf("%s cannot be read: %w", r.Header.Type, err)
	}
	return nil
}
