package link

import (
	"context"
	"errors"
	"net"
	"os"
	"sync"
	"syscall"
	"time"

	"haltmark/bench/clock"
)

const (
	// dialPatience is how long Dial waits before it lets the connecting go on
	// by itself; a refusal by a host that is there comes long before.
	dialPatience = 5 * time.Millisecond
	// dialMax is when a host that keeps silent counts as not there.
	dialMax = 5 * time.Second
	// backlogMax bounds what is written before the connection is there.
	backlogMax = 64 << 10
)

// hostConn is the controller's end of a connection of Host.
type hostConn struct {
	host    *Host
	remote  Endpoint
	framing Framing
	signal  clock.Signal
	cancel  context.CancelFunc
	task    sync.WaitGroup
	ready   chan struct{} // connected, or failed

	mu      sync.Mutex // guards what follows
	room    *sync.Cond // the queue has room, or the connection is closed
	socket  net.Conn   // nil while connecting
	backlog []byte     // written while connecting
	queue   [][]byte   // received, not read
	spare   [][]byte   // buffers to use again
	current []byte     // what Read gave out
	err     error      // after the queue has been read
	closed  bool
}

// Dial implements Network.
func (h *Host) Dial(e Endpoint, f Framing) (Conn, error) {
	if err := checkEndpoint("dial", e); err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(background(), dialMax)
	c := &hostConn{
		host: h, remote: e, framing: f, cancel: cancel, ready: make(chan struct{}),
	}
	c.room = sync.NewCond(&c.mu)
	c.task.Add(1)
	go c.run(ctx)
	timer := time.NewTimer(dialPatience)
	defer timer.Stop()
	select {
	case <-c.ready:
	case <-timer.C:
	}
	c.mu.Lock()
	failed := c.socket == nil && c.err != nil
	err := c.err
	c.mu.Unlock()
	if failed {
		_ = c.Close() // only ends the goroutine
		return nil, err
	}
	return c, nil
}

// run connects and then reads until the connection ends.
func (c *hostConn) run(ctx context.Context) {
	defer c.task.Done()
	defer c.cancel()
	socket, err := (&net.Dialer{}).DialContext(ctx, c.remote.Network, c.remote.Address)
	if c.connected(socket, err) {
		if c.remote.Network == "udp" {
			c.readDatagrams(socket)
		} else {
			c.readStream(socket)
		}
		_ = socket.Close() // closed already unless the peer ended it
	}
}

// connected takes the outcome of connecting and reports whether to read.
func (c *hostConn) connected(socket net.Conn, err error) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	defer close(c.ready)
	defer c.signal.Raise()
	if err != nil {
		c.err = err
		return false
	}
	if c.closed {
		_ = socket.Close() // nobody wants it any more
		return false
	}
	c.socket = socket
	if len(c.backlog) > 0 {
		_ = c.convey(c.backlog) // a read tells it
		c.backlog = nil
	}
	return true
}

// Write implements Conn.
func (c *hostConn) Write(message []byte) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case c.closed:
		return opError("write", c.remote, net.ErrClosed)
	case len(message) > MaxMessage:
		return opError("write", c.remote, os.NewSyscallError("write", syscall.EMSGSIZE))
	case c.err != nil && c.remote.Network == "tcp":
		return opError("write", c.remote, os.NewSyscallError("write", syscall.EPIPE))
	case len(message) == 0:
		return nil
	case c.socket != nil:
		return c.convey(message)
	case len(c.backlog)+len(message) > backlogMax:
		return opError("write", c.remote, os.NewSyscallError("write", syscall.ENOBUFS))
	}
	c.backlog = append(c.backlog, message...)
	return nil
}

// convey writes to the socket without waiting; c.mu is held. A stream that
// takes only part of a message, its peer not having read for a whole socket
// buffer, is of no more use.
func (c *hostConn) convey(message []byte) error {
	err := writeNow(c.socket, message)
	if errors.Is(err, syscall.ECONNREFUSED) && c.remote.Network == "udp" {
		// The answer to an earlier datagram; this one was not sent.
		c.err = unreachable(c.remote)
		c.signal.Raise()
		err = writeNow(c.socket, message)
	}
	if err == nil {
		return nil
	}
	err = opError("write", c.remote, os.NewSyscallError("write", err))
	if c.remote.Network == "tcp" {
		if c.err == nil {
			c.err = err
		}
		_ = c.socket.Close() // its reader then ends
	}
	return err
}

// writeNow hands a whole message to the system, or none of it is worth having.
func writeNow(socket net.Conn, message []byte) error {
	raw, err := socket.(syscall.Conn).SyscallConn()
	if err != nil {
		return err
	}
	written := 0
	closed := raw.Write(func(fd uintptr) bool {
		written, err = syscall.Write(int(fd), message)
		for err == syscall.EINTR {
			written, err = syscall.Write(int(fd), message)
		}
		return true
	})
	switch {
	case closed != nil:
		return closed
	case err == nil && written < len(message):
		return syscall.EAGAIN
	}
	return err
}

func (c *hostConn) readStream(socket net.Conn) {
	r := streamReader{framing: c.framing}
	for {
		message, err := r.next(socket)
		if err != nil {
			c.fail(err)
			return
		}
		if !c.enqueue(message, true) {
			return
		}
	}
}

func (c *hostConn) readDatagrams(socket net.Conn) {
	buffer := make([]byte, MaxMessage)
	for {
		n, err := socket.Read(buffer)
		if err != nil {
			c.fail(err)
			if !errors.Is(err, syscall.ECONNREFUSED) {
				return
			}
			continue
		}
		if n > 0 && !c.enqueue(buffer[:n], false) {
			return
		}
	}
}

// enqueue copies a message for Read. When the queue is full a stream waits for
// room, and a datagram is lost. It reports false when the connection is closed.
func (c *hostConn) enqueue(message []byte, wait bool) bool {
	c.mu.Lock()
	for wait && !c.closed && len(c.queue) >= queueMax {
		c.room.Wait()
	}
	if !c.closed && len(c.queue) < queueMax {
		var b []byte
		if n := len(c.spare); n > 0 {
			b, c.spare = c.spare[n-1][:0], c.spare[:n-1]
		}
		c.queue = append(c.queue, append(b, message...))
	}
	open := !c.closed
	c.mu.Unlock()
	c.signal.Raise()
	return open
}

// fail keeps the first error of a stream, the latest of datagrams.
func (c *hostConn) fail(err error) {
	c.mu.Lock()
	if errors.Is(err, ErrFraming) {
		err = opError("read", c.remote, err)
	}
	if c.err == nil {
		c.err = err
	}
	c.mu.Unlock()
	c.signal.Raise()
}

// Read implements Conn.
func (c *hostConn) Read(p clock.Process, deadline time.Duration) ([]byte, error) {
	for {
		message, err := c.poll()
		if message != nil || err != nil {
			return message, err
		}
		if !p.Wait(&c.signal, deadline) {
			if message, err = c.poll(); message == nil && err == nil {
				err = opError("read", c.remote, os.ErrDeadlineExceeded)
			}
			return message, err
		}
	}
}

// poll is the next message or error, if there is one.
func (c *hostConn) poll() ([]byte, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.current != nil {
		c.spare = append(c.spare, c.current)
		c.current = nil
	}
	if c.closed {
		return nil, opError("read", c.remote, net.ErrClosed)
	}
	if len(c.queue) > 0 {
		c.current = c.queue[0]
		c.queue = append(c.queue[:0], c.queue[1:]...)
		c.room.Signal()
		return c.current, nil
	}
	err := c.err
	if c.remote.Network == "udp" && c.socket != nil {
		c.err = nil // a refused datagram is told once
	}
	return nil, err
}

// Close implements Conn.
func (c *hostConn) Close() error {
	c.mu.Lock()
	if c.closed {
		c.mu.Unlock()
		return opError("close", c.remote, net.ErrClosed)
	}
	c.closed = true
	var err error
	if c.socket != nil && c.err == nil {
		err = c.socket.Close()
	} else if c.socket != nil {
		_ = c.socket.Close() // it has failed already
	}
	c.room.Broadcast()
	c.mu.Unlock()
	c.cancel()
	c.signal.Raise()
	c.task.Wait()
	return err
}
