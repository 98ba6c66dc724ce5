package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"counterpoise/kernel/wire"

	"github.com/go-zeromq/zmq4"
)

// patience bounds what a test waits for; nothing is asserted about how long
// things take.
const patience = 60 * time.Second

// A client is a running kernel process and a front end attached to it.
type client struct {
	t          testing.TB
	cmd        *exec.Cmd
	connection wire.Connection
	codec      *wire.Codec
	sender     *wire.Sender
	shell      zmq4.Socket
	control    zmq4.Socket
	iopub      zmq4.Socket
	log        *safeText

	mu      sync.Mutex
	seen    []*wire.Message
	changed chan struct{}
}

// safeText is a writer that can be read meanwhile.
type safeText struct {
	mu   sync.Mutex
	text strings.Builder
}

func (s *safeText) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(p)
}

func (s *safeText) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// freePorts returns a connection whose ports are free.
func freePorts(t testing.TB) wire.Connection {
	t.Helper()
	c := wire.NewConnection()
	for _, port := range []*int{&c.ShellPort, &c.IOPubPort, &c.StdinPort, &c.ControlPort, &c.HBPort} {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		*port = l.Addr().(*net.TCPAddr).Port
	}
	return c
}

// startClient starts a kernel as Jupyter does and attaches to it.
func startClient(t testing.TB, flags ...string) *client {
	t.Helper()
	c := &client{t: t, connection: freePorts(t), sender: wire.NewSender(), changed: make(chan struct{}), log: &safeText{}}
	c.codec = wire.NewCodec(c.connection.Key)
	file := filepath.Join(t.TempDir(), "connection.json")
	if err := c.connection.Write(file); err != nil {
		t.Fatal(err)
	}
	c.cmd = exec.Command("counterpoise", append([]string{"kernel", "start", file}, flags...)...) // see TestMain
	c.cmd.Stderr = c.log
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = c.cmd.Process.Kill() // it may have ended
		_ = c.cmd.Wait()
		if t.Failed() {
			t.Logf("the kernel's log: %s", c.log)
		}
	})
	c.attach()
	return c
}

func (c *client) attach() {
	c.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	c.t.Cleanup(cancel)
	c.shell, c.control, c.iopub = zmq4.NewDealer(ctx), zmq4.NewDealer(ctx), zmq4.NewSub(ctx)
	if err := c.iopub.SetOption(zmq4.OptionSubscribe, ""); err != nil {
		c.t.Fatal(err)
	}
	for _, s := range []struct {
		socket zmq4.Socket
		port   int
	}{{c.shell, c.connection.ShellPort}, {c.control, c.connection.ControlPort}, {c.iopub, c.connection.IOPubPort}} {
		address := net.JoinHostPort(c.connection.IP, fmt.Sprint(s.port))
		waitForPort(c.t, address)
		if err := s.socket.Dial("tcp://" + address); err != nil {
			c.t.Fatal(err)
		}
		c.t.Cleanup(func() { s.socket.Close() })
		go c.receive(s.socket)
	}
	c.await(func(m *wire.Message) bool { return m.Header.Type == "iopub_welcome" })
}

func waitForPort(t testing.TB, address string) {
	t.Helper()
	until := time.Now().Add(patience)
	for {
		conn, err := net.Dial("tcp", address)
		if err == nil {
			conn.Close()
			return
		}
		if time.Now().After(until) {
			t.Fatalf("the kernel does not listen: %v", err)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

func (c *client) receive(s zmq4.Socket) {
	for {
		raw, err := s.Recv()
		if err != nil {
			return
		}
		m, err := c.codec.Decode(raw.Frames)
		if err != nil {
			continue
		}
		c.mu.Lock()
		c.seen = append(c.seen, m)
		close(c.changed)
		c.changed = make(chan struct{})
		c.mu.Unlock()
	}
}

// await waits for a message.
func (c *client) await(wanted func(*wire.Message) bool) *wire.Message {
	c.t.Helper()
	limit := time.After(patience)
	for at := 0; ; {
		c.mu.Lock()
		seen, changed := c.seen, c.changed
		c.mu.Unlock()
		at = min(at, len(seen))
		for ; at < len(seen); at++ {
			if wanted(seen[at]) {
				return seen[at]
			}
		}
		select {
		case <-changed:
		case <-limit:
			c.t.Fatal("a message never came")
		}
	}
}

// forget drops the messages seen so far.
func (c *client) forget() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.seen = nil
}

// send sends a request and returns its id.
func (c *client) send(s zmq4.Socket, kind string, content any) string {
	c.t.Helper()
	raw, err := json.Marshal(content)
	if err != nil {
		c.t.Fatal(err)
	}
	h := c.sender.Header(kind)
	frames, err := c.codec.Encode(&wire.Message{Header: h, Content: raw})
	if err != nil {
		c.t.Fatal(err)
	}
	if err := s.SendMulti(zmq4.NewMsgFrom(frames...)); err != nil {
		c.t.Fatal(err)
	}
	return h.ID
}

// A ran is what came of one cell.
type ran struct {
	Status  string
	Ename   string
	Evalue  string
	printed string // both streams
	shown   string // text/plain of results and displays
}

func (c *client) execute(code string) string {
	c.t.Helper()
	return c.send(c.shell, "execute_request", map[string]any{"code": code})
}

// outcome waits for the end of a cell.
func (c *client) outcome(id string) ran {
	c.t.Helper()
	var r ran
	reply := c.await(func(m *wire.Message) bool { return m.Header.Type == "execute_reply" && m.ParentID() == id })
	if err := json.Unmarshal(reply.Content, &r); err != nil {
		c.t.Fatal(err)
	}
	c.await(func(m *wire.Message) bool {
		return m.Header.Type == "status" && strings.Contains(string(m.Content), "idle") && m.ParentID() == id
	})
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, m := range c.seen {
		if m.ParentID() != id {
			continue
		}
		var content struct {
			Text string
			Data map[string]any
		}
		_ = json.Unmarshal(m.Content, &content) // other types have other contents
		r.printed += content.Text
		if text, ok := content.Data["text/plain"].(string); ok {
			r.shown += text
		}
	}
	return r
}

// run runs a cell and drops what was seen before it.
func (c *client) run(code string) ran {
	c.t.Helper()
	c.forget()
	return c.outcome(c.execute(code))
}

// answers expects the kernel to run the next cell.
func (c *client) answers() {
	c.t.Helper()
	if r := c.run("1 + 1"); r.Status != "ok" || r.shown != "2" {
		c.t.Errorf("the next cell gives %+v", r)
	}
}

// interrupt asks the kernel to interrupt what runs; it returns a function that
// waits for the answer, after which no later cell can be meant.
func (c *client) interrupt() (answered func()) {
	id := c.send(c.control, "interrupt_request", map[string]any{})
	return func() {
		c.await(func(m *wire.Message) bool { return m.Header.Type == "interrupt_reply" && m.ParentID() == id })
	}
}
