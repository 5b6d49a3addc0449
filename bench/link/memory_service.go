package link

import (
	"io"
	"net/netip"
)

// memoryService is a service on Memory.
type memoryService struct {
	Service
	net         *Memory
	at          Endpoint
	impairments *Impairments
	stages      [2]*stage
	session     Session // of all datagrams
	reply       []byte  // scratch; events run one at a time

	// Guarded by net.mu.
	conns  []*memoryConn // by number
	closed bool
}

// Endpoint implements Listener.
func (s *memoryService) Endpoint() Endpoint { return s.at }

// Impairments implements Listener.
func (s *memoryService) Impairments() *Impairments { return s.impairments }

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
	if s.impairments.Conditions().Pulled {
		return
	}
	t := s.net.take(c, ToController)
	t.service, t.end = s, end
	s.net.post(t, s.net.Latency)
}

func (s *memoryService) forget(c *memoryConn) {
	for i := range s.conns {
		if s.conns[i] == c {
			s.conns = append(s.conns[:i], s.conns[i+1:]...)
			return
		}
	}
}

// serviceOf finds the service that a packet arrives at, nil when nobody
// listens (any more). For datagrams that is known only now.
func (n *Memory) serviceOf(c *memoryConn) *memoryService {
	n.mu.Lock()
	defer n.mu.Unlock()
	if c.service != nil {
		if c.gone {
			return nil
		}
		return c.service
	}
	s := n.services[c.remote]
	if s == nil || s.impairments.Conditions().Refuse {
		return nil
	}
	return s
}

// arriveAtDevice advances the station to this instant, and only then asks the
// impairment stage, whose faults may have begun meanwhile.
func (n *Memory) arriveAtDevice(t *transit) {
	c := t.conn
	s := n.serviceOf(c)
	if s == nil {
		n.lost(t)
		return
	}
	if t.end != nil {
		n.mu.Lock()
		c.leave()
		c.session, c.inbound = nil, nil
		n.give(t)
		n.mu.Unlock()
		return
	}
	if s.Advance != nil {
		s.Advance(n.clock.Now())
	}
	if !t.staged && !s.impair(t) {
		return
	}
	t.service = s
	n.tap(t)
	s.accept(c, t.bytes)
	n.mu.Lock()
	n.give(t)
	n.mu.Unlock()
}

// lost drops what nobody listens to; a datagram's sender is told.
func (n *Memory) lost(t *transit) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if c := t.conn; c.service == nil {
		back := n.take(c, ToController)
		back.end = unreachable(c.remote)
		n.post(back, n.Latency)
	}
	n.give(t)
}

// impair reports whether the message goes on now, as it is.
func (s *memoryService) impair(t *transit) bool {
	stage, p := s.stages[ToDevice], &t.conn.past[ToDevice]
	if stage.passes(p, t.bytes) {
		return true
	}
	out := stage.impair(p, t.bytes, netip.AddrPort{})
	s.net.mu.Lock()
	defer s.net.mu.Unlock()
	for _, d := range out {
		s.deliver(t.conn, ToDevice, d)
	}
	s.net.give(t)
	return false
}

// deliver sends one delivery on its way, in pieces when it is slow; net.mu is
// held.
func (s *memoryService) deliver(c *memoryConn, d Direction, what delivery) {
	delay := what.delay
	if d == ToController {
		delay += s.net.Latency
	}
	for piece := range what.pieces() {
		t := s.net.take(c, d)
		t.service, t.staged = s, true
		t.bytes = append(t.bytes, piece.bytes...)
		s.net.post(t, delay+piece.delay)
	}
}

// accept cuts arriving bytes into requests and answers them.
func (s *memoryService) accept(c *memoryConn, b []byte) {
	if s.at.Network == "udp" {
		if s.session == nil {
			s.session = s.Open()
		}
		s.answer(c, s.session, b)
		return
	}
	s.open(c)
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
		if b = b[size:]; len(b) > 0 && s.net.serviceOf(c) == nil {
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
	s.net.clock.At(s.net.clock.Now()+s.net.Patience, func() {
		if c.began == began && len(c.inbound) > 0 && s.net.serviceOf(c) != nil {
			s.hangUpOne(c)
		}
	})
}

// connect is the event by which the device learns of a new connection. A
// cable that is out delays that to the first message that gets through.
func (s *memoryService) connect(c *memoryConn) {
	if s.net.serviceOf(c) == nil || s.impairments.Conditions().Pulled {
		return
	}
	s.open(c)
}

// open makes the connection's session, once.
func (s *memoryService) open(c *memoryConn) {
	if c.session != nil {
		return
	}
	c.session = s.Open()
	if e, ok := c.session.(Emitter); ok {
		s.emit(c, e)
	}
}

// emit lets the device talk unasked, now and when it says.
func (s *memoryService) emit(c *memoryConn, e Emitter) {
	if s.net.serviceOf(c) == nil {
		return
	}
	now := s.net.clock.Now()
	if s.Advance != nil {
		s.Advance(now)
	}
	message, next := e.Emit(now)
	if len(message) > 0 {
		s.send(c, message)
	}
	if next > now {
		s.net.clock.At(next, func() { s.emit(c, e) })
	}
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

func (s *memoryService) send(c *memoryConn, message []byte) {
	stage, p := s.stages[ToController], &c.past[ToController]
	direct := stage.passes(p, message)
	var out []delivery
	if !direct {
		out = stage.impair(p, message, netip.AddrPort{})
	}
	s.net.mu.Lock()
	defer s.net.mu.Unlock()
	switch {
	case c.gone:
	case direct:
		t := s.net.take(c, ToController)
		t.service, t.staged = s, true
		t.bytes = append(t.bytes, message...)
		s.net.post(t, s.net.Latency)
	default:
		for _, d := range out {
			s.deliver(c, ToController, d)
		}
	}
}
