package link

import (
	"errors"
	"net"
	"os"
	"syscall"
	"time"

	"haltmark/bench/clock"
)

// queueMax bounds the messages that wait for a controller that does not read.
const queueMax = 1024

// memoryConn is a connection of Memory; both its ends. All fields but signal
// are guarded by net.mu.
type memoryConn struct {
	net     *Memory
	remote  Endpoint
	framing Framing
	number  int
	last    [2]time.Duration // the latest delivery of each direction
	past    [2]past          // of both stages, touched by the clock's events alone
	signal  clock.Signal
	late    error // made once, so that a time-out allocates nothing

	// The controller's end.
	queue   []*transit
	head    int      // the first of queue not read yet
	current *transit // what Read gave out
	partial []byte   // received, not yet a message
	err     error    // after the queue has been read
	closed  bool

	// The device's end; service stays nil for datagrams.
	service *memoryService
	session Session
	inbound []byte // received, not yet a message
	began   uint64 // counts the messages that arrived in parts
	gone    bool   // the device's end is closed
}

// Write implements Conn.
func (c *memoryConn) Write(message []byte) error {
	n := c.net
	n.mu.Lock()
	defer n.mu.Unlock()
	switch {
	case c.closed:
		return opError("write", c.remote, net.ErrClosed)
	case c.err != nil && c.service != nil:
		return opError("write", c.remote, os.NewSyscallError("write", syscall.EPIPE))
	case len(message) > MaxMessage:
		return opError("write", c.remote, os.NewSyscallError("write", syscall.EMSGSIZE))
	case len(message) == 0:
		return nil
	}
	t := n.take(c, ToDevice)
	t.bytes = append(t.bytes, message...)
	n.post(t, n.Latency)
	return nil
}

// Read implements Conn.
func (c *memoryConn) Read(p clock.Process, deadline time.Duration) ([]byte, error) {
	for {
		message, err := c.poll()
		if message != nil || err != nil {
			return message, err
		}
		if !p.Wait(&c.signal, deadline) {
			if message, err = c.poll(); message == nil && err == nil {
				err = c.late
			}
			return message, err
		}
	}
}

// poll is the next message or error, if there is one.
func (c *memoryConn) poll() ([]byte, error) {
	c.net.mu.Lock()
	defer c.net.mu.Unlock()
	if c.current != nil {
		c.net.give(c.current)
		c.current = nil
	}
	if c.closed {
		return nil, opError("read", c.remote, net.ErrClosed)
	}
	if c.head < len(c.queue) {
		t := c.queue[c.head]
		c.queue[c.head] = nil
		if c.head++; c.head == len(c.queue) {
			c.queue, c.head = c.queue[:0], 0
		}
		c.current = t
		return t.bytes, nil
	}
	err := c.err
	if c.service == nil {
		c.err = nil // a refused datagram is told once
	}
	return nil, err
}

// Close implements Conn.
func (c *memoryConn) Close() error {
	n := c.net
	n.mu.Lock()
	defer n.mu.Unlock()
	if c.closed {
		return opError("close", c.remote, net.ErrClosed)
	}
	c.closed = true
	for _, t := range c.queue[c.head:] {
		n.give(t)
	}
	c.queue, c.head, c.partial = nil, 0, nil
	if c.service != nil && !c.gone {
		t := n.take(c, ToDevice)
		t.end = net.ErrClosed
		n.post(t, n.Latency)
	}
	c.signal.Raise()
	return nil
}

// receive takes what arrives at the controller's end.
func (c *memoryConn) receive(t *transit) {
	n := c.net
	switch {
	case c.closed || c.err != nil && c.service != nil:
		n.give(t)
	case t.end != nil:
		c.err = t.end
		n.give(t)
	case c.remote.Network == "udp" || len(c.partial) == 0 && c.whole(t.bytes):
		c.enqueue(t)
	default:
		c.partial = append(c.partial, t.bytes...)
		n.give(t)
		c.cut()
	}
}

// whole reports whether the bytes are exactly one message.
func (c *memoryConn) whole(b []byte) bool {
	size, err := c.framing(b)
	return err == nil && size == len(b)
}

// cut moves whole messages from the partial bytes to the queue.
func (c *memoryConn) cut() {
	rest := c.partial
	for len(rest) > 0 {
		size, err := nextMessage(c.framing, rest)
		if err != nil {
			c.err = opError("read", c.remote, err)
			c.leave()
			rest = nil
			break
		}
		if size == 0 {
			break
		}
		t := c.net.take(c, ToController)
		t.bytes = append(t.bytes, rest[:size]...)
		c.enqueue(t)
		rest = rest[size:]
	}
	c.partial = append(c.partial[:0], rest...)
}

// leave ends the device's end at once, the controller's having failed.
func (c *memoryConn) leave() {
	if c.service != nil && !c.gone {
		c.gone = true
		c.service.forget(c)
	}
}

func (c *memoryConn) enqueue(t *transit) {
	if len(c.queue)-c.head >= queueMax {
		if c.service != nil {
			c.err = reset(c.remote)
			c.leave()
		}
		c.net.give(t)
		return
	}
	c.queue = append(c.queue, t)
}

// nextMessage frames buffered bytes within the bounds of the package.
func nextMessage(f Framing, buffered []byte) (int, error) {
	size, err := f(buffered)
	switch {
	case err != nil && !errors.Is(err, ErrFraming):
		return 0, errors.Join(ErrFraming, err)
	case err != nil:
		return 0, err
	case size < 0 || size > len(buffered) || size == 0 && len(buffered) >= MaxMessage:
		return 0, ErrFraming
	}
	return size, nil
}
