package wire

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"sync"
	"sync/atomic"
	"time"

	"github.com/go-zeromq/zmq4"
)

// A Channel is one of the five sockets of a kernel.
type Channel int

// The channels.
const (
	Shell Channel = iota
	Control
	Stdin
	IOPub
	Heartbeat
)

// Channels lists them all.
var Channels = [...]Channel{Shell, Control, Stdin, IOPub, Heartbeat}

func (c Channel) String() string {
	return [...]string{"shell", "control", "stdin", "iopub", "heartbeat"}[c]
}

const (
	// maxAhead bounds the messages that the publishing socket of the library
	// has been given and has not handed on.
	maxAhead = 64
	// settleTime is how long it needs to hand the last message to the last
	// subscriber once the first has it.
	settleTime = 20 * time.Millisecond
)

// Sockets are the five bound sockets of one kernel.
type Sockets struct {
	codec   *Codec
	sender  *Sender
	logf    func(format string, args ...any)
	cancel  context.CancelFunc
	done    context.Context
	sockets [len(Channels)]zmq4.Socket
	guards  [len(Channels)]*guard
	serving sync.WaitGroup
	tally   *tally
	sent    atomic.Int64 // messages given to the publishing socket, as the tally counts
	once    sync.Once
}

// Listen binds the five sockets that c names. A port of 0 is replaced in c by
// the one that the system chose. logf takes a line for each message that is
// dropped; it may be nil.
func Listen(c *Connection, sender *Sender, logf func(format string, args ...any)) (*Sockets, error) {
	if logf == nil {
		logf = func(string, ...any) {}
	}
	ctx, cancel := context.WithCancel(context.Background())
	s := &Sockets{codec: NewCodec(c.Key), sender: sender, logf: logf, cancel: cancel, done: ctx}
	for _, ch := range Channels {
		if err := s.bind(c, ch); err != nil {
			s.Close()
			return nil, fmt.Errorf("%s socket: %w", ch, err)
		}
	}
	return s, nil
}

func (s *Sockets) bind(c *Connection, ch Channel) error {
	network, address := c.address(ch)
	if network == "unix" && *c.portOf(ch) == 0 {
		return errors.New("ipc needs a number for each socket")
	}
	wanted, welcome := fromRequester, (func([]byte) [][]byte)(nil)
	if ch == IOPub {
		wanted, welcome = fromSubscriber, s.welcome
	}
	g, endpoint, err := newGuard(network, address, wanted, welcome)
	if err != nil {
		return err
	}
	if tcp, ok := g.Addr().(*net.TCPAddr); ok {
		*c.portOf(ch) = tcp.Port
	}
	s.guards[ch] = g
	if ch == IOPub {
		s.tally = newTally()
		go g.admit(s.tally)
	}
	quiet := zmq4.WithLogger(log.New(io.Discard, "", 0))
	if ch == IOPub {
		s.sockets[ch] = zmq4.NewXPub(s.done, quiet)
	} else {
		s.sockets[ch] = zmq4.NewRouter(s.done, quiet)
	}
	return s.sockets[ch].Listen(endpoint)
}

func fromRequester(socketType string) bool {
	return socketType == "DEALER" || socketType == "REQ" || socketType == "ROUTER"
}

func fromSubscriber(socketType string) bool { return socketType == "SUB" || socketType == "XSUB" }

// welcome makes the message that tells a subscriber that its subscription is in
// force. Source: JEP 65, XPUB and iopub_welcome.
func (s *Sockets) welcome(topic []byte) [][]byte {
	m := &Message{
		Identities: [][]byte{append([]byte{}, topic...)},
		Header:     s.sender.Header("iopub_welcome"),
		Content:    mustJSON(map[string]string{"subscription": string(topic)}),
	}
	frames, err := s.codec.Encode(m)
	if err != nil {
		return nil
	}
	return frames
}

// Serve hands each good message of shell, control and stdin to handle, one
// goroutine and one call at a time per channel, and echoes heartbeats. It
// returns at once.
func (s *Sockets) Serve(handle func(Channel, *Message)) {
	for _, ch := range Channels {
		s.serving.Go(func() { s.receive(ch, handle) })
	}
}

func (s *Sockets) receive(ch Channel, handle func(Channel, *Message)) {
	for {
		raw, err := s.sockets[ch].Recv()
		if s.done.Err() != nil {
			return
		}
		if err != nil {
			time.Sleep(time.Millisecond)
			continue
		}
		switch {
		case raw.Type == zmq4.CmdMsg || ch == IOPub:
			continue
		case ch == Heartbeat:
			_ = s.sockets[ch].Send(zmq4.NewMsgFrom(raw.Frames...)) // a peer that is gone needs no echo
			continue
		}
		m, err := s.codec.Decode(raw.Frames)
		if err != nil {
			s.logf("%s: message dropped: %v", ch, err)
			continue
		}
		handle(ch, m)
	}
}

// Send sends a message: to the client that its identities name, or on iopub to
// all subscribers. On iopub it waits for subscribers that read more slowly
// than the kernel speaks, but not for one that has stopped reading.
func (s *Sockets) Send(ch Channel, m *Message) error {
	frames, err := s.codec.Encode(m)
	if err != nil {
		return err
	}
	if ch == IOPub {
		s.guards[ch].keepPace()
		s.settle(maxAhead)
		if s.tally.ready.Load() {
			s.sent.Add(1)
		}
		return s.sockets[ch].SendMulti(zmq4.NewMsgFrom(frames...))
	}
	return s.sockets[ch].Send(zmq4.NewMsgFrom(frames...))
}

// settle waits until at most so many messages have not been handed on, for as
// long as the library hands on any.
func (s *Sockets) settle(ahead int64) {
	last, since := s.tally.handed.Load(), time.Now()
	for s.sent.Load()-last > ahead && time.Since(since) < stallTime {
		time.Sleep(100 * time.Microsecond)
		if now := s.tally.handed.Load(); now != last {
			last, since = now, time.Now()
		}
	}
}

// Close sends what is queued, within half a second, and closes the sockets.
func (s *Sockets) Close() {
	s.once.Do(func() {
		if s.sockets[IOPub] != nil {
			s.settle(0)
			time.Sleep(settleTime)
		}
		var all sync.WaitGroup
		for _, g := range s.guards {
			if g != nil {
				all.Go(g.drain)
			}
		}
		all.Wait()
		s.cancel()
		for i, socket := range s.sockets {
			if socket != nil {
				_ = socket.Close() // nothing can be done about a peer that is gone
			}
			if s.guards[i] != nil {
				_ = s.guards[i].Close() // it listens no more, that is all
			}
		}
	})
}
