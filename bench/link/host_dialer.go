package link

import (
	"bytes"
	"context"
	"net/netip"
	"os"
	"sync"
	"syscall"
	"time"
)

// hostDialer is a client on Host.
type hostDialer struct {
	Client
	end
	host *Host

	mu    sync.Mutex
	conns map[*hostConn]bool
}

func newHostDialer(h *Host, c Client) *hostDialer {
	d := &hostDialer{Client: c, host: h, conns: map[*hostConn]bool{}}
	d.impairedBy(newImpairments(nil, d.resetAll), h.Seed, "client", c.Name)
	return d
}

// Dial implements Dialer.
func (d *hostDialer) Dial(e Endpoint, f Framing) (Conn, error) {
	if err := checkEndpoint("dial", e); err != nil {
		return nil, err
	}
	if e.Network == "tcp" && d.refuses() {
		return nil, refused(e)
	}
	ctx, cancel := context.WithTimeout(background(), dialMax)
	c := newHostConn(d, e, f, cancel)
	c.task.Add(1)
	go c.run(ctx)
	timer := time.NewTimer(dialWait)
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
	d.keep(c, true)
	return c, nil
}

func (d *hostDialer) keep(c *hostConn, open bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if open {
		d.conns[c] = true
	} else {
		delete(d.conns, c)
	}
}

func (d *hostDialer) resetAll() {
	d.mu.Lock()
	defer d.mu.Unlock()
	for c := range d.conns {
		c.breakOff()
	}
}

// sendOff lets a message pass the client's stage and leave; c.mu is held.
func (c *hostConn) sendOff(b []byte) error {
	d, now := c.dialer, c.host.clock.Now()
	if c.datagrams() && d.refuses() {
		c.err = unreachable(c.remote)
		c.signal.Raise()
		return nil
	}
	var failed error
	for _, each := range c.staged(ToDevice, b) {
		if each.delay == 0 && each.pace == 0 && c.out.idle() {
			failed = c.convey(each.bytes)
			continue
		}
		c.out.push(queued{message: each.message, due: now + each.delay, pace: each.pace})
	}
	return failed
}

// staged is what the client's stage of a direction makes of a message; c.mu is held.
func (c *hostConn) staged(d Direction, b []byte) []delivery {
	stage, h := &c.dialer.stages[d], &c.history[d]
	if stage.passes(h, b) {
		return []delivery{{message: message{bytes: b}}}
	}
	return stage.impair(h, b, netip.AddrPort{})
}

// inTurn does what has to do with a message: at once, or as an event behind the
// client's Advance. It bounds how many wait and reports false for one too many. c.mu
// is held, and is held in do.
func (c *hostConn) inTurn(b []byte, do func(b []byte)) bool {
	advance := c.dialer.Advance
	switch {
	case advance == nil:
		do(b)
		return true
	case c.turns >= queuedMax:
		return false
	}
	c.turns++
	b = bytes.Clone(b)
	clock := c.host.clock
	clock.At(clock.Now(), func() {
		advance(clock.Now())
		c.mu.Lock()
		defer c.mu.Unlock()
		c.turns--
		c.room.Broadcast()
		if !c.closed {
			do(b)
		}
	})
	return true
}

// arrive takes a message that the reader has cut out and reports false when the
// connection is closed. When nobody reads a stream waits, and a datagram is lost.
func (c *hostConn) arrive(b []byte) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	for !c.datagrams() && !c.closed && (c.full() || c.turns >= queuedMax) {
		c.room.Wait()
	}
	if c.closed {
		return false
	}
	c.tap(ToController, EventMessage, b)
	c.inTurn(b, c.takeIn)
	return true
}

// takeIn lets a message pass the client's stage on its way in; c.mu is held.
func (c *hostConn) takeIn(b []byte) {
	now := c.host.clock.Now()
	for _, each := range c.staged(ToController, b) {
		if each.delay == 0 && each.pace == 0 && c.in.idle() {
			c.accept(each.bytes)
			continue
		}
		c.in.push(queued{message: each.message, due: now + each.delay, pace: each.pace})
	}
}

// accept takes what has passed the client's stage; c.mu is held.
func (c *hostConn) accept(b []byte) {
	failed := c.err != nil
	c.receive(b)
	if c.err != nil && !failed {
		c.cutOff(eventOf(c.err))
	}
	c.signal.Raise()
}

// breakOff resets a stream: both ends read it.
func (c *hostConn) breakOff() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.datagrams() || c.closed || c.err != nil {
		return
	}
	c.err = reset(c.remote)
	c.cutOff(EventReset)
	c.signal.Raise()
}

// noRoom is what the system says when there is no room for what is sent.
func noRoom(e Endpoint) error {
	return opError("write", e, os.NewSyscallError("write", syscall.ENOBUFS))
}
