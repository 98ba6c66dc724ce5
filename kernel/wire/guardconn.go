package wire

import (
	"bufio"
	"io"
	"net"
	"sync"
	"time"
)

// A guardedConn is one peer. Whatever is wrong with it, its methods return
// io.EOF, the one error for which the socket library forgets a peer.
type guardedConn struct {
	net.Conn
	guard  *guard
	reader *bufio.Reader
	again  []byte // what the handshake took, for the library to read
	in     framing

	mu      sync.Mutex
	wake    sync.Cond
	skip    int // bytes of the library's own greeting, sent already
	out     framing
	queue   []byte
	flying  int    // bytes taken from the queue and not yet written
	welcome []byte // message to put in at the next boundary
	moved   time.Time
	closing bool
	dead    bool
	written chan struct{} // closed when the writer has ended
}

// Read follows the peer's frames and cuts it off if one is too long.
func (c *guardedConn) Read(p []byte) (int, error) {
	c.putWelcome()
	if len(c.again) > 0 {
		n := copy(p, c.again)
		c.again = c.again[n:]
		return n, nil
	}
	n, err := c.reader.Read(p)
	if err == nil {
		err = c.in.feed(p[:n], c.received)
	}
	if err != nil {
		c.cut()
		return 0, io.EOF
	}
	return n, nil
}

// received looks for subscriptions: messages of one frame whose first byte is
// 1, then the topic.
func (c *guardedConn) received(frames int) {
	if c.guard.welcome == nil || frames != 1 || len(c.in.start) == 0 || c.in.start[0] != 1 {
		return
	}
	if message := c.guard.welcome(c.in.start[1:]); message != nil {
		c.mu.Lock()
		c.welcome = appendFrames(c.welcome, message)
		c.mu.Unlock()
	}
}

// putWelcome queues the welcome of a new subscription. It is called when the
// library reads on, so the subscription is in force by then.
func (c *guardedConn) putWelcome() {
	if c.guard.welcome == nil {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.skip == 0 && c.out.atBoundary() {
		c.takeWelcome()
		c.wake.Signal()
	}
}

func (c *guardedConn) takeWelcome() {
	if len(c.welcome) > 0 {
		c.put(c.welcome)
		c.welcome = nil
	}
}

func (c *guardedConn) put(p []byte) {
	if len(c.queue) == 0 && c.flying == 0 {
		c.moved = time.Now()
	}
	c.queue = append(c.queue, p...)
}

// Write queues p. It never waits for the peer.
func (c *guardedConn) Write(p []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.dead || c.closing {
		return 0, io.EOF
	}
	n := len(p)
	if skip := min(c.skip, n); skip > 0 {
		c.skip -= skip
		p = p[skip:]
	}
	if c.out.atBoundary() && c.skip == 0 {
		c.takeWelcome()
	}
	c.put(p)
	if err := c.out.feed(p, nil); err != nil || len(c.queue)+c.flying > maxQueue {
		c.cutLocked()
		return 0, io.EOF
	}
	if c.out.atBoundary() {
		c.wake.Signal()
	}
	return n, nil
}

// writeAll is the goroutine that sends what is queued.
func (c *guardedConn) writeAll() {
	defer close(c.written)
	var spare []byte
	c.mu.Lock()
	defer c.mu.Unlock()
	for {
		for (len(c.queue) == 0 || !c.out.atBoundary()) && !c.closing && !c.dead {
			c.wake.Wait()
		}
		if c.dead || len(c.queue) == 0 {
			return
		}
		batch := c.queue
		c.queue, c.flying = spare[:0], len(batch)
		c.mu.Unlock()
		ok := c.send(batch)
		c.mu.Lock()
		c.flying = 0
		if !ok {
			c.cutLocked()
			return
		}
		if spare = batch; cap(spare) > highWater {
			spare = nil // one burst is no reason to keep so much
		}
	}
}

// send writes a batch in pieces and notes when the peer took one.
func (c *guardedConn) send(batch []byte) bool {
	for len(batch) > 0 {
		n, err := c.Conn.Write(batch[:min(len(batch), writeChunk)])
		batch = batch[n:]
		c.mu.Lock()
		c.flying, c.moved = len(batch), time.Now()
		c.mu.Unlock()
		if err != nil {
			return false
		}
	}
	return true
}

func (c *guardedConn) queued() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.dead {
		return 0
	}
	return len(c.queue) + c.flying
}

// slow reports whether the peer has much waiting for it and still reads.
func (c *guardedConn) slow() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return !c.dead && !c.closing && len(c.queue)+c.flying > highWater && time.Since(c.moved) < stallTime
}

// Close lets what is queued leave, for a while, and closes the connection.
func (c *guardedConn) Close() error {
	c.mu.Lock()
	c.closing = true
	c.wake.Signal()
	c.mu.Unlock()
	linger := time.NewTimer(lingerTime)
	defer linger.Stop()
	select {
	case <-c.written:
	case <-linger.C:
	}
	c.cut()
	return nil
}

// cut ends the connection at once.
func (c *guardedConn) cut() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.cutLocked()
}

func (c *guardedConn) cutLocked() {
	if c.dead {
		return
	}
	c.dead, c.queue, c.welcome = true, nil, nil
	c.wake.Signal()
	c.Conn.Close()
	c.guard.forget(c)
}
