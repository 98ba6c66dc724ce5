package wire

import (
	"net"
	"sync"
	"sync/atomic"
	"time"
)

// A tally is a subscriber inside the process. The publishing socket of the
// library queues without a bound and does not tell when it has handed a
// message on; the tally gets every message like any subscriber and counts.
type tally struct {
	hello   []byte // what it says as a peer, then it is silent
	in      framing
	skip    int // bytes of the library's greeting
	handed  atomic.Int64
	ready   atomic.Bool // the subscription is in force
	closed  chan struct{}
	closing sync.Once
}

func newTally() *tally {
	ready := "\x05READY\x0bSocket-Type\x00\x00\x00\x03SUB"
	hello := append(greeting(), flagCommand, byte(len(ready)))
	hello = append(hello, ready...)
	return &tally{
		hello:  append(hello, 0, 1, 1), // a message of one frame: subscribe to everything
		skip:   greetingLength,
		closed: make(chan struct{}),
	}
}

// Read says hello. When it is called after that, the library has taken the
// subscription.
func (t *tally) Read(p []byte) (int, error) {
	if len(t.hello) > 0 {
		n := copy(p, t.hello)
		t.hello = t.hello[n:]
		return n, nil
	}
	t.ready.Store(true)
	<-t.closed
	return 0, net.ErrClosed
}

// Write counts whole messages.
func (t *tally) Write(p []byte) (int, error) {
	n := len(p)
	skip := min(t.skip, n)
	t.skip -= skip
	err := t.in.feed(p[skip:], func(int) {
		if t.ready.Load() { // before that it is the handshake
			t.handed.Add(1)
		}
	})
	return n, err
}

func (t *tally) Close() error {
	t.closing.Do(func() { close(t.closed) })
	return nil
}

func (t *tally) LocalAddr() net.Addr              { return &net.UnixAddr{} }
func (t *tally) RemoteAddr() net.Addr             { return &net.UnixAddr{} }
func (t *tally) SetDeadline(time.Time) error      { return nil }
func (t *tally) SetReadDeadline(time.Time) error  { return nil }
func (t *tally) SetWriteDeadline(time.Time) error { return nil }
