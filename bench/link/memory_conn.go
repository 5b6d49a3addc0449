package link

import (
	"errors"
	"io"
	"net"
	"net/netip"
	"os"
	"slices"
	"syscall"
	"time"
)

// memoryDialer is a client on Memory.
type memoryDialer struct {
	Client
	end
	net   *Memory
	conns []*memoryConn // streams, by number; guarded by net.mu
}

// Dial implements Dialer. A refused TCP connection is an error here; a refused
// datagram is one of the reads that follow.
func (d *memoryDialer) Dial(e Endpoint, f Framing) (Conn, error) {
	to, err := literal("dial", e)
	if err != nil {
		return nil, err
	}
	n := d.net
	n.mu.Lock()
	defer n.mu.Unlock()
	c := n.connect(e, to, f)
	c.dialer = d
	h := d.impairments.history(c.datagrams())
	c.atController = [2]history{h, h}
	if c.datagrams() {
		c.atDevice = [2]history{h, h}
		return c, nil
	}
	s := n.services[e]
	if s == nil || s.refuses() || d.refuses() {
		return nil, refused(e)
	}
	h = s.impairments.history(false)
	c.service, c.atDevice = s, [2]history{h, h}
	s.conns, d.conns = append(s.conns, c), append(d.conns, c)
	n.clock.At(n.clock.Now()+n.Latency, func() { s.connect(c) })
	return c, nil
}

// resetAll breaks every stream of the client.
func (d *memoryDialer) resetAll() {
	n := d.net
	n.mu.Lock()
	defer n.mu.Unlock()
	conns := d.conns
	d.conns = nil
	for _, c := range conns {
		how := reset(c.remote)
		if c.err == nil {
			c.err = how
		}
		c.hangUp(how)
		c.signal.Raise()
	}
}

// staged reports whether messages have to be looked at before they go on.
func (d *memoryDialer) staged() bool { return d.Advance != nil || d.impairments.any.Load() }

func (d *memoryDialer) advance() {
	if d.Advance != nil {
		d.Advance(d.net.clock.Now())
	}
}

// sendOff is the event by which a message leaves the client.
func (d *memoryDialer) sendOff(t *transit) {
	n, c := d.net, t.conn
	d.advance()
	c.leaving--
	var out []delivery
	through := t.end != nil
	if !through {
		if c.datagrams() && d.refuses() {
			n.lost(t)
			return
		}
		stage, h := &d.stages[ToDevice], &c.atController[ToDevice]
		if through = stage.passes(h, t.bytes); !through {
			out = stage.impair(h, t.bytes, netip.AddrPort{})
		}
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	if through {
		t.leg = arriving
		n.post(t, n.Latency)
		return
	}
	n.postEach(t, out, arriving, n.Latency)
	n.give(t)
}

// memoryConn is a connection of Memory; both its ends. Fields but those of the
// stages are guarded by net.mu.
type memoryConn struct {
	inbox      // of the controller's end
	net        *Memory
	number     int
	controller netip.AddrPort // address of either end
	device     netip.AddrPort

	last          [2]time.Duration // the latest delivery of each direction by the wire
	lastDelivered time.Duration    // and behind the client's stage
	// What the stages of either end remember, touched by the clock's events alone.
	atDevice, atController [2]history

	// The controller's end: that of a client, or of a datagram service that talks to
	// a peer.
	dialer  *memoryDialer
	owner   *memoryService
	leaving int // messages on their way to the client's own stage

	// The device's end; service stays nil for datagrams.
	service *memoryService
	session Session
	inbound []byte // received, not yet a message
	began   uint64 // counts the messages that arrived in parts
	gone    bool   // the device's end is closed
}

// opposite is the address of whoever a service talks to.
func (c *memoryConn) opposite(s *memoryService) netip.AddrPort {
	if s == c.owner {
		return c.device
	}
	return c.controller
}

// Impairments implements Conn.
func (c *memoryConn) Impairments() *Impairments { return c.dialer.impairments }

// Write implements Conn.
func (c *memoryConn) Write(message []byte) error {
	n := c.net
	n.mu.Lock()
	defer n.mu.Unlock()
	switch {
	case c.closed:
		return opError("write", c.remote, net.ErrClosed)
	case c.err != nil && !c.datagrams():
		return opError("write", c.remote, os.NewSyscallError("write", syscall.EPIPE))
	case len(message) > MaxMessage:
		return opError("write", c.remote, os.NewSyscallError("write", syscall.EMSGSIZE))
	case len(message) == 0:
		return nil
	}
	t := n.take(c, ToDevice)
	t.bytes = append(t.bytes, message...)
	c.send(t)
	return nil
}

// send gives a transit to the client's stage, or past it; net.mu is held.
func (c *memoryConn) send(t *transit) {
	d := c.dialer
	if c.leaving == 0 && !d.staged() {
		if t.end == nil {
			d.stages[ToDevice].passes(&c.atController[ToDevice], t.bytes)
		}
		c.net.post(t, c.net.Latency)
		return
	}
	c.leaving++
	t.leg = leaving
	c.net.clock.At(c.net.clock.Now(), t.fire)
}

// Close implements Conn.
func (c *memoryConn) Close() error {
	n := c.net
	n.mu.Lock()
	defer n.mu.Unlock()
	if !c.close() {
		return opError("close", c.remote, net.ErrClosed)
	}
	c.hangUp(io.EOF)
	return nil
}

// hangUp lets the device hear how the controller's end has ended; net.mu is held.
func (c *memoryConn) hangUp(how error) {
	if c.service != nil && !c.gone {
		t := c.net.take(c, ToDevice)
		t.end = how
		c.send(t)
	}
	if i := slices.Index(c.dialer.conns, c); i >= 0 {
		c.dialer.conns = slices.Delete(c.dialer.conns, i, i+1)
	}
}

// arriveAtController takes what arrives to the client's stage and behind it.
func (n *Memory) arriveAtController(t *transit) {
	c := t.conn
	if t.leg == arriving {
		if t.end == nil || !c.datagrams() {
			n.tap(t.service, c, ToController, eventOf(t.end), t.bytes)
		}
		if !c.dialer.admits(t) {
			return
		}
	}
	n.mu.Lock()
	failed := c.err != nil
	if t.end == nil {
		c.receive(t.bytes)
	} else if !c.closed && c.err == nil {
		c.err = t.end
	}
	if c.err != nil && !failed && t.end == nil {
		c.abandon()
	}
	n.give(t)
	n.mu.Unlock()
	c.signal.Raise()
}

// admits reports whether what arrives is delivered now, as it is.
func (d *memoryDialer) admits(t *transit) bool {
	n, c := d.net, t.conn
	d.advance()
	stage, h := &d.stages[ToController], &c.atController[ToController]
	var out []delivery
	switch {
	case t.end == nil && stage.passes(h, t.bytes):
		return true
	case t.end == nil:
		out = stage.impair(h, t.bytes, netip.AddrPort{})
	case c.datagrams() || c.lastDelivered <= n.clock.Now() && !d.unplugged():
		return true
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	if t.end != nil && !d.unplugged() { // after what is delayed
		t.leg = through
		n.post(t, 0)
		return false
	}
	n.postEach(t, out, through, 0)
	n.give(t)
	return false
}

// abandon ends the device's end at once, the controller's having failed.
func (c *memoryConn) abandon() {
	if s := c.service; s != nil && !c.gone {
		c.gone = true
		s.forget(c)
		c.net.tap(s, c, ToDevice, eventOf(c.err), nil)
	}
}

// eventOf is what an end of a stream is to the tap.
func eventOf(end error) Event {
	switch {
	case end == nil:
		return EventMessage
	case errors.Is(end, syscall.ECONNRESET):
		return EventReset
	}
	return EventClose
}
