package wire

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"sync"
	"time"

	"github.com/go-zeromq/zmq4"
	"github.com/go-zeromq/zmq4/transport"
	"github.com/google/uuid"
)

// The socket library opens connections one after the other and waits for each
// without a deadline, allocates a frame before it has arrived, queues without
// a bound for a subscriber that does not read, and drops what is queued when
// it is closed. The guarded transport below stands between it and the network
// and takes care of all four.
const (
	// handshakeTime is how long a peer has to say who it is. Local peers need
	// a millisecond.
	handshakeTime = 2 * time.Second
	// maxHandshakes bounds the peers that have not yet done so.
	maxHandshakes = 256
	// maxConnections bounds the peers of one socket. A notebook page holds one
	// or two to each.
	maxConnections = 1024
	// maxQueue bounds what waits for one peer; beyond it the peer is cut off.
	maxQueue = 32 << 20
	// highWater is where a peer that still reads is waited for.
	highWater = 1 << 20
	// stallTime is how long a peer may take nothing before nobody waits for it.
	stallTime = 2 * time.Second
	// lingerTime is how long closing waits for queued bytes to leave.
	lingerTime = 500 * time.Millisecond
	// writeChunk is how much is handed to the system at once, so that a slow
	// peer's progress can be seen.
	writeChunk = 64 << 10
)

// scheme is the name under which the socket library knows the transport.
const scheme = "guarded"

var registerGuard = sync.OnceValue(func() error {
	return zmq4.RegisterTransport(scheme, guardedTransport{})
})

// guards are the guards made and not yet listened on, by endpoint.
var guards sync.Map

// guardedTransport is the door through which the socket library gets at guards.
type guardedTransport struct{}

func (guardedTransport) Dial(context.Context, transport.Dialer, string) (net.Conn, error) {
	return nil, errors.New("the guarded transport only listens")
}

func (guardedTransport) Addr(endpoint string) (string, error) { return endpoint, nil }

func (guardedTransport) Listen(_ context.Context, endpoint string) (net.Listener, error) {
	g, ok := guards.LoadAndDelete(endpoint)
	if !ok {
		return nil, fmt.Errorf("no guard %q", endpoint)
	}
	return g.(*guard), nil
}

// A guard listens for one socket.
type guard struct {
	net.Listener
	wanted  func(socketType string) bool
	welcome func(topic []byte) [][]byte // message for a new subscriber; may be nil

	ready  chan net.Conn
	closed chan struct{}
	once   sync.Once
	slots  chan struct{}

	mu    sync.Mutex
	conns map[*guardedConn]struct{}
}

// newGuard starts to listen; endpoint is what to tell the socket library.
func newGuard(network, address string, wanted func(string) bool, welcome func([]byte) [][]byte) (g *guard, endpoint string, err error) {
	if err := registerGuard(); err != nil {
		return nil, "", err
	}
	l, err := net.Listen(network, address)
	if err != nil {
		return nil, "", err
	}
	if network == "unix" {
		if err := os.Chmod(address, 0o700); err != nil {
			l.Close()
			return nil, "", err
		}
	}
	g = &guard{
		Listener: l,
		wanted:   wanted,
		welcome:  welcome,
		ready:    make(chan net.Conn),
		closed:   make(chan struct{}),
		slots:    make(chan struct{}, maxHandshakes),
		conns:    map[*guardedConn]struct{}{},
	}
	go g.acceptAll()
	name := uuid.NewString()
	guards.Store(name, g)
	return g, scheme + "://" + name, nil
}

// acceptAll greets each newcomer in a goroutine of its own.
func (g *guard) acceptAll() {
	for {
		raw, err := g.Listener.Accept()
		if err != nil {
			select {
			case <-g.closed:
				return
			case <-time.After(10 * time.Millisecond): // out of descriptors, say
				continue
			}
		}
		select {
		case g.slots <- struct{}{}:
			go g.greet(raw)
		default:
			raw.Close()
		}
	}
}

func (g *guard) greet(raw net.Conn) {
	defer func() { <-g.slots }()
	raw.SetDeadline(time.Now().Add(handshakeTime))
	c := &guardedConn{
		Conn:    raw,
		guard:   g,
		reader:  bufio.NewReaderSize(raw, 8<<10),
		in:      framing{limited: true, start: make([]byte, 0, 256)},
		skip:    greetingLength,
		written: make(chan struct{}),
	}
	c.wake.L = &c.mu
	if _, err := raw.Write(greeting()); err != nil {
		raw.Close()
		return
	}
	taken, err := shakeHands(c.reader, g.wanted)
	if err != nil || !g.keep(c) {
		raw.Close()
		return
	}
	raw.SetDeadline(time.Time{})
	c.again = taken
	go c.writeAll()
	g.admit(c)
}

// admit hands a peer to the socket library.
func (g *guard) admit(c net.Conn) {
	select {
	case g.ready <- c:
	case <-g.closed:
		_ = c.Close() // it has not been used
	}
}

func (g *guard) keep(c *guardedConn) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	if len(g.conns) >= maxConnections {
		return false
	}
	g.conns[c] = struct{}{}
	return true
}

func (g *guard) forget(c *guardedConn) {
	g.mu.Lock()
	defer g.mu.Unlock()
	delete(g.conns, c)
}

func (g *guard) all() []*guardedConn {
	g.mu.Lock()
	defer g.mu.Unlock()
	all := make([]*guardedConn, 0, len(g.conns))
	for c := range g.conns {
		all = append(all, c)
	}
	return all
}

// Accept gives the socket library the next peer that has introduced itself.
func (g *guard) Accept() (net.Conn, error) {
	select {
	case c := <-g.ready:
		return c, nil
	case <-g.closed:
		return nil, net.ErrClosed
	}
}

// Close stops listening. Peers that were accepted stay.
func (g *guard) Close() error {
	g.once.Do(func() { close(g.closed) })
	return g.Listener.Close()
}

// drain waits until what is queued for every peer has left, or for the linger
// time.
func (g *guard) drain() {
	until := time.Now().Add(lingerTime)
	for _, c := range g.all() {
		for c.queued() > 0 && time.Now().Before(until) {
			time.Sleep(time.Millisecond)
		}
	}
}

// keepPace waits while a peer that does read has too much waiting for it.
func (g *guard) keepPace() {
	for _, c := range g.all() {
		for c.slow() {
			time.Sleep(time.Millisecond)
		}
	}
}
