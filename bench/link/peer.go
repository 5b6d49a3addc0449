package link

import (
	"bytes"
	"errors"
	"io"
	"net"
	"net/netip"
	"syscall"
)

// peer is a connection of a Host service, or all its datagrams: the way of a
// message through both stages and the device. Only the goroutine that reads
// calls receive.
type peer struct {
	service *hostService
	number  int
	in, out *deliveryQueue
	own     netip.AddrPort
	send    func(queued) error // writes to the peer
	hangUp  func()             // framing is lost

	// Touched only inside Clock.Do.
	to      netip.AddrPort // of a stream its other end, of datagrams whom to talk to unasked
	history [2]history     // of both stages
	session Session
	inbound []byte // of a stream, not yet a message
	lost    bool
}

func newPeer(d *hostService, number int) *peer {
	p := &peer{service: d, number: number}
	h := d.impairments.history(d.at.Network == "udp")
	p.history = [2]history{h, h}
	p.in = newDeliveryQueue(d.host, p.deliver)
	p.out = newDeliveryQueue(d.host, p.dispatch)
	return p
}

// cutOff drops what is delayed, without waiting.
func (p *peer) cutOff() {
	p.in.cutOff()
	p.out.cutOff()
}

// stop ends the peer's goroutines and waits for them.
func (p *peer) stop() {
	p.in.stop()
	p.out.stop()
}

// receive takes a message that has come from the network. The station is
// advanced first: a fault that has begun meanwhile counts already.
func (p *peer) receive(b []byte, from netip.AddrPort) {
	d := p.service
	arrival := d.host.clock.Now()
	var replies []queued
	var lost bool
	straight := p.in.idle()
	d.host.clock.Do(func() {
		d.advance()
		for _, each := range p.staged(ToDevice, b, from) {
			m := queued{message: each.message, arrival: arrival, due: arrival + each.delay,
				pace: each.pace}
			if straight && each.delay == 0 && each.pace == 0 {
				replies = p.accept(replies, m)
				continue
			}
			straight = false
			p.in.push(m)
		}
		lost = p.lost
	})
	p.finish(replies, lost)
}

// staged is what the impairment stage of a direction makes of a message, which
// may keep its buffer only until it is sent on.
func (p *peer) staged(d Direction, b []byte, to netip.AddrPort) []delivery {
	stage, h := &p.service.stages[d], &p.history[d]
	if stage.passes(h, b) {
		return []delivery{{message: message{bytes.Clone(b), to}}}
	}
	return stage.impair(h, b, to)
}

// deliver hands over a message that was delayed on its way to the device.
func (p *peer) deliver(m queued) {
	var replies []queued
	var lost bool
	p.service.host.clock.Do(func() {
		p.service.advance()
		replies = p.accept(replies, m)
		lost = p.lost
	})
	p.finish(replies, lost)
}

// accept cuts what arrives at the device into requests and appends their
// replies.
func (p *peer) accept(replies []queued, m queued) []queued {
	d := p.service
	p.tap(ToDevice, EventMessage, m.message)
	if d.at.Network == "udp" && d.Peer == (Endpoint{}) {
		p.to = m.to
	}
	p.open()
	if p.session == nil {
		return replies // closed meanwhile
	}
	if d.at.Network == "udp" {
		return p.answer(replies, m, m.bytes)
	}
	p.inbound = append(p.inbound, m.bytes...)
	rest := p.inbound
	for len(rest) > 0 && !p.lost {
		size, err := nextMessage(d.Framing, rest)
		if err != nil {
			p.lost = true
		}
		if size == 0 {
			break
		}
		replies = p.answer(replies, m, rest[:size])
		rest = rest[size:]
	}
	p.inbound = append(p.inbound[:0], rest...)
	return replies
}

// open makes the session, once; inside Clock.Do.
func (p *peer) open() {
	if p.session != nil || p.in.over() {
		return
	}
	p.session = p.service.Open()
	if e, ok := p.session.(Emitter); ok {
		p.emit(e)
	}
}

// emit lets the device talk unasked, now and when it says; inside Clock.Do.
func (p *peer) emit(e Emitter) {
	if p.in.over() {
		return
	}
	d := p.service
	d.advance()
	now := d.host.clock.Now()
	b, next := e.Emit(now)
	if len(b) > 0 {
		for _, each := range p.staged(ToController, b, p.to) {
			p.out.push(queued{
				message: each.message, arrival: now, due: now + each.delay, pace: each.pace,
			})
		}
	}
	if next > now {
		d.host.clock.At(next, func() { p.emit(e) })
	}
}

// answer appends what the device replies, behind the stage; where it keeps
// silent the exchange ends here.
func (p *peer) answer(replies []queued, m queued, request []byte) []queued {
	reply := p.session.Respond(nil, request)
	if len(reply) == 0 {
		p.trace(m)
		return replies
	}
	for _, each := range p.staged(ToController, reply, m.to) {
		r := m
		r.due += each.delay
		r.message, r.pace, r.part = each.message, each.pace, false
		replies = append(replies, r)
	}
	return replies
}

// finish sends replies, at once or when they are due, and hangs up when framing
// is lost; outside Clock.Do.
func (p *peer) finish(replies []queued, lost bool) {
	now := p.service.host.clock.Now()
	for _, r := range replies {
		if r.due <= now && r.pace == 0 && p.out.idle() {
			p.dispatch(r)
			continue
		}
		p.out.push(r)
	}
	if lost {
		p.hangUp()
	}
}

// dispatch writes a reply to the peer.
func (p *peer) dispatch(r queued) {
	if d := p.service; d.at.Network == "tcp" || !d.host.shows("udp", r.to) {
		p.tap(ToController, EventMessage, r.message)
	}
	if p.send(r) == nil && !r.part {
		p.trace(r)
	}
}

func (p *peer) trace(m queued) {
	h := p.service.host
	h.trace(Exchange{
		Service: p.service.Name, Connection: p.number,
		Arrival: m.arrival, Departure: h.clock.Now(),
	}, m.due)
}

// tap shows a packet of the peer.
func (p *peer) tap(d Direction, e Event, m message) {
	h := p.service.host
	h.tap(Packet{
		At: h.clock.Now(), Service: p.service.Name, Connection: p.number,
		Direction: d, Event: e, Bytes: m.bytes,
	}.between(m.to, p.own))
}

// addressOf is the address of a socket.
func addressOf(a net.Addr) netip.AddrPort {
	switch a := a.(type) {
	case *net.TCPAddr:
		return a.AddrPort()
	case *net.UDPAddr:
		return a.AddrPort()
	}
	return netip.AddrPort{}
}

// peerEvent is how the peer ended a stream whose reading failed; false when it was
// not the peer.
func peerEvent(err error) (Event, bool) {
	switch {
	case errors.Is(err, io.EOF):
		return EventClose, true
	case errors.Is(err, syscall.ECONNRESET):
		return EventReset, true
	}
	return 0, false
}
