package link

import (
	"bytes"
	"net/netip"
	"time"
)

// parcel is a message on its way through a peer.
type parcel struct {
	arrival time.Duration  // of the request, complete
	due     time.Duration  // when it is to be delivered
	to      netip.AddrPort // where the reply goes, for datagrams
	pace    time.Duration  // more for each further byte
	part    bool           // there is more to come of it
	bytes   []byte
}

// peer is a connection of a Host service, or all its datagrams: the way of a
// message through both stages and the device. Only the goroutine that reads
// calls receive.
type peer struct {
	service *hostService
	number  int
	in, out *line
	past    [2]past            // of both stages, touched only inside Clock.Do
	send    func(parcel) error // writes to the peer
	broken  func()             // framing is lost: hang up

	// Touched only inside Clock.Do.
	session Session
	inbound []byte // of a stream, not yet a message
	lost    bool
}

func newPeer(d *hostService, number int) *peer {
	p := &peer{service: d, number: number}
	p.past[ToDevice], p.past[ToController] = d.impairments.past(), d.impairments.past()
	p.in = newLine(d.host, p.deliver)
	p.out = newLine(d.host, p.dispatch)
	return p
}

// stop ends the peer's goroutines and waits for them.
func (p *peer) stop() {
	p.in.stop()
	p.out.stop()
}

// receive takes a message that has come from the network. The station is
// advanced first: a fault that has begun meanwhile counts already.
func (p *peer) receive(message []byte, to netip.AddrPort) {
	d := p.service
	arrival := d.host.clock.Now()
	var replies []parcel
	var lost bool
	straight := p.in.idle()
	d.host.clock.Do(func() {
		d.advance()
		for _, each := range p.staged(ToDevice, message, to) {
			m := parcel{arrival: arrival, due: arrival + each.delay, to: each.to,
				pace: each.pace, bytes: each.bytes}
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
func (p *peer) staged(d Direction, message []byte, to netip.AddrPort) []delivery {
	stage, past := p.service.stages[d], &p.past[d]
	if stage.passes(past, message) {
		return []delivery{{to: to, bytes: bytes.Clone(message)}}
	}
	return stage.impair(past, message, to)
}

// deliver hands over a message that was delayed on its way to the device.
func (p *peer) deliver(m parcel) {
	var replies []parcel
	var lost bool
	p.service.host.clock.Do(func() {
		p.service.advance()
		replies = p.accept(replies, m)
		lost = p.lost
	})
	p.finish(replies, lost)
}

func (d *hostService) advance() {
	if d.Advance != nil {
		d.Advance(d.host.clock.Now())
	}
}

// accept cuts what arrives at the device into requests and appends their
// replies.
func (p *peer) accept(replies []parcel, m parcel) []parcel {
	d := p.service
	d.host.tap(Packet{
		At: d.host.clock.Now(), Service: d.Name, Connection: p.number,
		Direction: ToDevice, Bytes: m.bytes,
	})
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
	if e, ok := p.session.(Emitter); ok && p.service.at.Network == "tcp" {
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
	message, next := e.Emit(now)
	if len(message) > 0 {
		for _, each := range p.staged(ToController, message, netip.AddrPort{}) {
			p.out.push(parcel{
				arrival: now, due: now + each.delay, pace: each.pace, bytes: each.bytes,
			})
		}
	}
	if next > now {
		d.host.clock.At(next, func() { p.emit(e) })
	}
}

// answer appends what the device replies, behind the stage; where it keeps
// silent the exchange ends here.
func (p *peer) answer(replies []parcel, m parcel, request []byte) []parcel {
	reply := p.session.Respond(nil, request)
	if len(reply) == 0 {
		p.trace(m)
		return replies
	}
	for _, each := range p.staged(ToController, reply, m.to) {
		r := m
		r.due += each.delay
		r.to, r.pace, r.part, r.bytes = each.to, each.pace, false, each.bytes
		replies = append(replies, r)
	}
	return replies
}

// finish sends replies, at once or when they are due, and hangs up when framing
// is lost; outside Clock.Do.
func (p *peer) finish(replies []parcel, lost bool) {
	now := p.service.host.clock.Now()
	for _, r := range replies {
		if r.due <= now && r.pace == 0 && p.out.idle() {
			p.dispatch(r)
			continue
		}
		p.out.push(r)
	}
	if lost {
		p.broken()
	}
}

// dispatch writes a reply to the peer.
func (p *peer) dispatch(r parcel) {
	d := p.service
	d.host.tap(Packet{
		At: d.host.clock.Now(), Service: d.Name, Connection: p.number,
		Direction: ToController, Bytes: r.bytes,
	})
	if p.send(r) == nil && !r.part {
		p.trace(r)
	}
}

func (p *peer) trace(m parcel) {
	h := p.service.host
	h.trace(Exchange{
		Service: p.service.Name, Connection: p.number,
		Arrival: m.arrival, Departure: h.clock.Now(),
	}, m.due)
}
