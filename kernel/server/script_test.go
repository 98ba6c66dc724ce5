package server

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"counterpoise/kernel/wire"
)

// A script is an evaluator whose cells are Go functions, by their code.
type script struct {
	cells map[string]func(ctx context.Context, cell Cell, out Output) Result
	comm  func(ctx context.Context, m CommMessage, out Output) bool

	mu  sync.Mutex
	ran []Cell
}

func (s *script) Execute(ctx context.Context, cell Cell, out Output) Result {
	s.mu.Lock()
	s.ran = append(s.ran, cell)
	s.mu.Unlock()
	if f, ok := s.cells[cell.Code]; ok {
		return f(ctx, cell, out)
	}
	return Result{}
}

func (s *script) Complete(_ context.Context, code string, pos int) Completion {
	at := strings.LastIndexAny(code[:pos], " .;") + 1
	if code[at:pos] == "none" {
		return Completion{}
	}
	return Completion{Start: at, End: pos, Items: []CompletionItem{{Text: code[at:pos] + "ln", Kind: "function", Signature: "(a ...any)"}}}
}

func (s *script) Inspect(_ context.Context, code string, pos, detail int) Inspection {
	if code[:pos] != "heron" {
		return Inspection{}
	}
	text := "a bird"
	if detail > 0 {
		text += " on a pin"
	}
	return Inspection{Found: true, Bundle: Bundle{Data: map[string]any{"text/plain": text}}}
}

func (s *script) IsComplete(code string) Completeness {
	switch {
	case strings.HasSuffix(code, "{"):
		return Completeness{Status: "incomplete", Indent: "\t"}
	case code == "?":
		return Completeness{Status: "strange"}
	}
	return Completeness{Status: "complete"}
}

func (s *script) HandleComm(ctx context.Context, m CommMessage, out Output) bool {
	return s.comm != nil && s.comm(ctx, m, out)
}

func (s *script) Close() error { return nil }

// A sent message, as a client sees it.
type sent struct {
	channel    wire.Channel
	to         string
	kind, id   string
	session    string
	parent     string // msg_id of the parent, "" if it has none
	parentRaw  string
	content    map[string]any
	metadata   map[string]any
	rawContent string
	buffers    [][]byte
}

// A bench is a server with a client that needs no sockets.
type bench struct {
	*testing.T
	server *Server
	codec  *wire.Codec

	mu      sync.Mutex
	sent    []sent
	changed chan struct{}
	asked   int
}

func newBench(t *testing.T, e Evaluator) *bench {
	b := &bench{T: t, codec: wire.NewCodec("k"), changed: make(chan struct{})}
	b.server = New(e, Options{Sender: wire.NewSender(), Send: b.take, Version: "1"})
	t.Cleanup(func() { b.server.Close() })
	return b
}

// take receives what the server sends, through the bytes of the wire.
func (b *bench) take(ch wire.Channel, m *wire.Message) error {
	frames, err := b.codec.Encode(m)
	if err != nil {
		return err
	}
	r, err := wire.NewCodec("k").Decode(frames)
	if err != nil {
		return err
	}
	s := sent{channel: ch, kind: r.Header.Type, id: r.Header.ID, session: r.Header.Session, parent: r.ParentID(), parentRaw: string(r.Parent), rawContent: string(r.Content), buffers: r.Buffers}
	for _, id := range r.Identities {
		s.to += string(id)
	}
	if err := json.Unmarshal(r.Content, &s.content); err != nil {
		return err
	}
	if err := json.Unmarshal(r.Metadata, &s.metadata); err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.sent = append(b.sent, s)
	close(b.changed)
	b.changed = make(chan struct{})
	return nil
}

// await waits until enough reports true of all messages sent so far.
func (b *bench) await(what string, enough func([]sent) bool) []sent {
	b.Helper()
	limit := time.After(20 * time.Second)
	for {
		b.mu.Lock()
		now, changed := b.sent[:len(b.sent):len(b.sent)], b.changed
		b.mu.Unlock()
		if enough(now) {
			return now
		}
		select {
		case <-changed:
		case <-limit:
			b.Fatalf("%s never came; sent: %s", what, describe(now))
		}
	}
}

func describe(all []sent) string {
	var text strings.Builder
	for _, s := range all {
		fmt.Fprintf(&text, "\n%v %s to %s %s", s.channel, s.kind, s.parent, s.rawContent)
	}
	return text.String()
}

// ask hands in a request and returns its id.
func (b *bench) ask(ch wire.Channel, kind string, content any) string {
	b.mu.Lock()
	b.asked++
	id := fmt.Sprintf("q%d", b.asked)
	b.mu.Unlock()
	raw, err := json.Marshal(content)
	if err != nil {
		b.Fatal(err)
	}
	b.server.Handle(ch, &wire.Message{
		Identities: [][]byte{[]byte("client")},
		Header:     wire.Header{ID: id, Type: kind},
		RawHeader:  fmt.Appendf(nil, `{ "msg_id":%q,"msg_type":%q,"subshell_id":null}`, id, kind),
		Parent:     []byte("{}"),
		Metadata:   []byte("{}"),
		Content:    raw,
	})
	return id
}

// An outcome is all that was sent about one request.
type outcome struct {
	reply *sent
	iopub []sent
}

// of waits for the idle of a request and, unless none is due, its reply.
func (b *bench) of(id string, reply bool) outcome {
	b.Helper()
	var o outcome
	b.await("the end of "+id, func(all []sent) bool {
		o = outcome{}
		idle := false
		for i, s := range all {
			switch {
			case s.parent != id:
			case s.channel == wire.IOPub:
				o.iopub = append(o.iopub, s)
				idle = idle || s.content["execution_state"] == "idle"
			case s.channel != wire.Stdin:
				o.reply = &all[i]
			}
		}
		return idle && (o.reply != nil || !reply)
	})
	return o
}

func (b *bench) run(code string, flags map[string]any) outcome {
	b.Helper()
	content := map[string]any{"code": code}
	for k, v := range flags {
		content[k] = v
	}
	return b.of(b.ask(wire.Shell, "execute_request", content), true)
}

// kinds returns the message types of an outcome on iopub, with the state of
// status messages.
func (o outcome) kinds() []string {
	var all []string
	for _, s := range o.iopub {
		if s.kind == "status" {
			all = append(all, s.content["execution_state"].(string))
		} else {
			all = append(all, s.kind)
		}
	}
	return all
}

func (o outcome) status() string { return o.reply.content["status"].(string) }
func (o outcome) count() int     { return int(o.reply.content["execution_count"].(float64)) }

func plain(text string) *Bundle { return &Bundle{Data: map[string]any{"text/plain": text}} }

func gives(text string) func(context.Context, Cell, Output) Result {
	return func(context.Context, Cell, Output) Result { return Result{Value: plain(text)} }
}

func fails(context.Context, Cell, Output) Result {
	return Result{Fault: &Fault{Name: "Panic", Value: "stop", Traceback: []string{"cell 1:2:3", "Panic: stop"}}}
}
