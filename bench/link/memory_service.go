package link

import (
	"io"
	"net/netip"
	"slices"
)

// memoryService is a service on Memory.
type memoryService struct {
	Service
	end
	net     *Memory
	at      Endpoint
	address netip.AddrPort
	reply   []byte // scratch; events run one at a time

	// Of datagrams; touched by the clock's events alone.
	session Session
	peer    *memoryConn // whom it talks to unasked, nil for nobody as yet

	// Guarded by net.mu.
	conns  []*memoryConn // by number
	closed bool
}

// Endpoint implements Listener.
func (s *memoryService) Endpoint() Endpoint { return s.at }

// Close implements Listener.
func (s *memoryService) Close() error {
	s.net.mu.Lock()
	defer s.net.mu.Unlock()
	if s.closed {
		return nil
	}
	s.closed = true
	delete(s.net.services, s.at)
	s.hangUp(io.EOF)
	return nil
}

func (s *memoryService) resetAll() {
	s.net.mu.Lock()
	defer s.net.mu.Unlock()
	s.hangUp(reset(s.at))
}

// hangUp closes the device's end of every connection; the peers hear of it
// unless their cable is out.
func (s *memoryService) hangUp(end error) {
	conns := s.conns
	s.conns = nil
	for _, c := range conns {
		s.close(c, end)
	}
}

func (s *memoryService) close(c *memoryConn, end error) {
	c.gone = true
	if s.unplugged() {
		return
	}
	t := s.net.take(c, ToController)
	t.service, t.end = s, end
	s.net.post(t, s.net.Latency)
}

func (s *memoryService) forget(c *memoryConn) {
	if i := slices.Index(s.conns, c); i >= 0 {
		s.conns = slices.Delete(s.conns, i, i+1)
	}
}

// history is what the service's stages remember of a connection.
func (s *memoryService) history(c *memoryConn, d Direction) *history {
	if s == c.owner {
		return &c.atController[d]
	}
	return &c.atDevice[d]
}

// receiver is the service that a transit arrives at, nil when nobody listens (any
// more). For datagrams that is known only now.
func (n *Memory) receiver(t *transit) *memoryService {
	n.mu.Lock()
	defer n.mu.Unlock()
	c := t.conn
	s := c.service
	switch {
	case s != nil && c.gone:
		return nil
	case s != nil:
		return s
	case t.leg == through:
		s = t.service
	case c.owner != nil && t.service != c.owner:
		s = c.owner // what a peer answers
	default:
		s = n.services[c.remote]
	}
	if s == nil || s.closed || s.refuses() {
		return nil
	}
	return s
}

// arriveAtPeer takes the datagram of a service that talks to another one, or that
// one's answer.
func (n *Memory) arriveAtPeer(t *transit) {
	t.direction = ToDevice
	n.arriveAtDevice(t)
}

// arriveAtDevice advances the station to this instant, and only then asks the
// impairment stage, whose faults may have begun meanwhile.
func (n *Memory) arriveAtDevice(t *transit) {
	c := t.conn
	s := n.receiver(t)
	if s == nil {
		n.lost(t)
		return
	}
	if t.end != nil {
		n.mu.Lock()
		c.gone = true
		s.forget(c)
		n.mu.Unlock()
		if c.session != nil {
			n.tap(s, c, ToDevice, eventOf(t.end), nil)
		}
		c.session, c.inbound = nil, nil
		n.release(t)
		return
	}
	if s.Advance != nil {
		s.Advance(n.clock.Now())
	}
	if t.leg != through && !s.admits(t) {
		return
	}
	s.open(c)
	n.tap(s, c, ToDevice, EventMessage, t.bytes)
	s.accept(c, t.bytes)
	n.release(t)
}

// lost drops what nobody listens to; a datagram's sender is told.
func (n *Memory) lost(t *transit) {
	c := t.conn
	if c.owner != nil && t.service == c.owner {
		n.tap(c.owner, c, ToController, EventMessage, t.bytes) // no receiver shows it
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	if c.datagrams() && c.owner == nil {
		back := n.take(c, ToController)
		back.end = unreachable(c.remote)
		n.post(back, n.Latency)
	}
	n.give(t)
}

// admits reports whether what arrives is delivered now, as it is.
func (s *memoryService) admits(t *transit) bool {
	stage, h := &s.stages[ToDevice], s.history(t.conn, ToDevice)
	if stage.passes(h, t.bytes) {
		return true
	}
	out := stage.impair(h, t.bytes, netip.AddrPort{})
	s.net.mu.Lock()
	defer s.net.mu.Unlock()
	t.service = s
	s.net.postEach(t, out, through, 0)
	s.net.give(t)
	return false
}

// accept cuts arriving bytes into requests and answers them.
func (s *memoryService) accept(c *memoryConn, b []byte) {
	if s.at.Network == "udp" {
		s.answer(c, s.session, b)
		return
	}
	pending := len(c.inbound) > 0
	if pending {
		c.inbound = append(c.inbound, b...)
		b = c.inbound
	}
	for len(b) > 0 {
		size, err := nextMessage(s.Framing, b)
		if err != nil {
			s.hangUpOne(c)
			return
		}
		if size == 0 {
			break
		}
		s.answer(c, c.session, b[:size])
		pending = false
		if b = b[size:]; len(b) > 0 && !s.serves(c) {
			return
		}
	}
	c.inbound = append(c.inbound[:0], b...)
	if len(b) > 0 && !pending {
		s.expectRest(c)
	}
}

// expectRest hangs up when the message that has begun stays incomplete.
func (s *memoryService) expectRest(c *memoryConn) {
	c.began++
	began := c.began
	s.net.clock.At(s.net.clock.Now()+s.net.MessageTimeout, func() {
		if c.began == began && len(c.inbound) > 0 && s.serves(c) {
			s.hangUpOne(c)
		}
	})
}

// serves reports whether the device's end of a stream is open, or the service that
// of datagrams, for which there is no connection.
func (s *memoryService) serves(c *memoryConn) bool {
	s.net.mu.Lock()
	defer s.net.mu.Unlock()
	if c != nil {
		return !c.gone
	}
	return !s.closed
}

func (s *memoryService) hangUpOne(c *memoryConn) {
	s.net.mu.Lock()
	defer s.net.mu.Unlock()
	s.forget(c)
	s.close(c, io.EOF)
}

// answer asks the device and sends its reply through the other stage.
func (s *memoryService) answer(c *memoryConn, session Session, request []byte) {
	s.reply = session.Respond(s.reply[:0], request)
	now := s.net.clock.Now()
	if len(s.reply) > 0 {
		s.send(c, s.reply)
	}
	if s.net.Trace != nil {
		s.net.Trace(Exchange{Service: s.Name, Connection: c.number, Arrival: now, Departure: now})
	}
}

func (s *memoryService) send(c *memoryConn, b []byte) {
	n := s.net
	stage, h := &s.stages[ToController], s.history(c, ToController)
	direct := stage.passes(h, b)
	var out []delivery
	if !direct {
		out = stage.impair(h, b, netip.AddrPort{})
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	switch {
	case c.gone:
	case direct:
		t := n.take(c, ToController)
		t.service = s
		t.bytes = append(t.bytes, b...)
		n.post(t, n.Latency)
	default:
		like := transit{conn: c, service: s, direction: ToController}
		n.postEach(&like, out, arriving, n.Latency)
	}
}
