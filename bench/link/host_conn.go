package link

import (
	"context"
	"errors"
	"net"
	"net/netip"
	"os"
	"sync"
	"syscall"
	"time"
)

const (
	// dialWait is how long Dial waits before it lets the connecting go on
	// by itself; a refusal by a host that is there comes long before.
	dialWait = 5 * time.Millisecond
	// dialMax is when a host that keeps silent counts as not there.
	dialMax = 5 * time.Second
	// backlogMax bounds what is written before the connection is there.
	backlogMax = 64 << 10
)

// hostConn is the controller's end of a connection of Host.
type hostConn struct {
	inbox
	host    *Host
	dialer  *hostDialer
	in, out *deliveryQueue
	cancel  context.CancelFunc
	task    sync.WaitGroup
	ready   chan struct{} // connected, or failed
	lock    guard         // is inbox.mu, guards what follows too
	room    *sync.Cond    // the queue has room, or the connection is closed

	socket      net.Conn // nil while connecting
	backlog     []byte   // written while connecting
	history     [2]history
	turns       int // messages that wait for their turn as an event
	number      int // for the tap, 0 while it is not to see this end
	own, device netip.AddrPort
}

func newHostConn(d *hostDialer, e Endpoint, f Framing, cancel context.CancelFunc) *hostConn {
	c := &hostConn{host: d.host, dialer: d, cancel: cancel, ready: make(chan struct{})}
	c.inbox = newInbox(&c.lock, e, f)
	c.room = sync.NewCond(c.mu)
	h := d.impairments.history(c.datagrams())
	c.history = [2]history{h, h}
	c.in = newDeliveryQueue(d.host, c.deliver(c.accept))
	c.out = newDeliveryQueue(d.host, c.deliver(func(b []byte) { _ = c.convey(b) })) // a read tells
	return c
}

// deliver hands over what was delayed, unless the connection is closed meanwhile.
func (c *hostConn) deliver(to func(b []byte)) func(queued) {
	return func(m queued) {
		c.mu.Lock()
		defer c.mu.Unlock()
		if !c.closed {
			to(m.bytes)
		}
	}
}

// Impairments implements Conn.
func (c *hostConn) Impairments() *Impairments { return c.dialer.impairments }

// run connects and then reads until the connection ends.
func (c *hostConn) run(ctx context.Context) {
	defer c.task.Done()
	defer c.cancel()
	socket, err := (&net.Dialer{}).DialContext(ctx, c.remote.Network, c.remote.Address)
	if c.connected(socket, err) {
		if c.datagrams() {
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
	c.own, c.device = addressOf(socket.LocalAddr()), addressOf(socket.RemoteAddr())
	if !c.host.shows(c.remote.Network, c.device) {
		c.number = c.host.number()
	}
	if !c.datagrams() {
		c.tap(ToDevice, EventOpen, nil)
	}
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
	case c.err != nil && !c.datagrams():
		return opError("write", c.remote, os.NewSyscallError("write", syscall.EPIPE))
	case len(message) == 0:
		return nil
	}
	var err error
	if !c.inTurn(message, func(b []byte) { err = c.sendOff(b) }) {
		err = noRoom(c.remote)
	}
	return err
}

// convey writes to the socket without waiting; c.mu is held. A stream that
// takes only part of a message, its peer not having read for a whole socket
// buffer, is of no more use.
func (c *hostConn) convey(message []byte) error {
	switch {
	case c.socket == nil && len(c.backlog)+len(message) > backlogMax:
		return noRoom(c.remote)
	case c.socket == nil:
		c.backlog = append(c.backlog, message...)
		return nil
	}
	err := writeNow(c.socket, message)
	if errors.Is(err, syscall.ECONNREFUSED) && c.datagrams() {
		// The answer to an earlier datagram; this one was not sent.
		c.err = unreachable(c.remote)
		c.signal.Raise()
		err = writeNow(c.socket, message)
	}
	if err == nil {
		c.tap(ToDevice, EventMessage, message)
		return nil
	}
	err = opError("write", c.remote, os.NewSyscallError("write", err))
	if !c.datagrams() {
		if c.err == nil {
			c.err = err
		}
		c.cutOff(EventReset) // its reader then ends
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
		if !c.arrive(message) {
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
		if n > 0 && !c.arrive(buffer[:n]) {
			return
		}
	}
}

// fail keeps the first error of a stream, the latest of datagrams. A peer that hangs
// up is not heard while the cable is out.
func (c *hostConn) fail(err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	how, byPeer := peerEvent(err)
	if byPeer && !c.closed && c.err == nil {
		c.tap(ToController, how, nil)
		c.number = 0
	}
	if byPeer && c.dialer.unplugged() {
		return
	}
	if errors.Is(err, ErrFraming) {
		err = opError("read", c.remote, err)
	}
	if c.err == nil {
		c.err = err
		c.cutOff(EventClose)
	}
	c.signal.Raise()
}

// cutOff ends the socket of an end that is closed, or of a stream that has failed;
// c.mu is held.
func (c *hostConn) cutOff(how Event) {
	if c.socket == nil || c.datagrams() && !c.closed {
		return
	}
	if !c.datagrams() {
		c.tap(ToDevice, how, nil)
		c.number = 0 // nothing comes after the end
	}
	if tcp, ok := c.socket.(*net.TCPConn); ok && how == EventReset {
		breakOff(tcp)
	}
	_ = c.socket.Close() // fails only when closed already
}

// tap shows a packet, unless the device's end does; c.mu is held.
func (c *hostConn) tap(d Direction, e Event, b []byte) {
	if c.number > 0 {
		c.host.tap(Packet{
			At: c.host.clock.Now(), Service: c.dialer.Name, Connection: c.number,
			Direction: d, Event: e, Bytes: b,
		}.between(c.own, c.device))
	}
}

// Close implements Conn.
func (c *hostConn) Close() error {
	c.mu.Lock()
	if !c.close() {
		c.mu.Unlock()
		return opError("close", c.remote, net.ErrClosed)
	}
	c.cutOff(EventClose)
	c.room.Broadcast()
	c.mu.Unlock()
	c.dialer.keep(c, false)
	c.cancel()
	c.in.stop()
	c.out.stop()
	c.task.Wait()
	return nil
}
