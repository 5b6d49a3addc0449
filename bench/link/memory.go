package link

import (
	"net"
	"net/netip"
	"os"
	"syscall"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/seed"
)

// latencyDefault is the way of a message between two hosts of a quiet
// switched network; common practice.
const latencyDefault = 50 * time.Microsecond

// portFirst and portLast bound the dynamic ports (RFC 6335, section 6). Services that
// ask for port 0 get them upwards, clients from the upper half downwards.
const (
	portFirst   = 49152
	portLast    = 65535
	clientPorts = (portLast - portFirst + 1) / 2
)

// Memory is a network by events of a clock. Set its fields before first use.
type Memory struct {
	Latency        time.Duration  // each way, 50 us by default; not negative
	MessageTimeout time.Duration  // for the rest of a message, 5 s by default
	Seed           seed.Seed      // of all impairments
	Tap            func(Packet)   // sees every packet; nil for none
	Trace          func(Exchange) // sees every exchange; nil for none

	clock clock.Clock

	mu          guard // of what follows and of all connections
	services    map[Endpoint]*memoryService
	connections int
	ports       int
	free        *transit
}

// NewMemory makes a network without services.
func NewMemory(c clock.Clock) *Memory {
	_, alone := c.(*clock.Virtual)
	return &Memory{
		Latency: latencyDefault, MessageTimeout: messageTimeoutDefault,
		clock: c, services: map[Endpoint]*memoryService{}, mu: guard{alone: alone},
	}
}

// Serve implements Network.
func (n *Memory) Serve(s Service) (Listener, error) {
	address, err := literal("listen", s.Endpoint)
	if err != nil {
		return nil, err
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	e := s.Endpoint
	if address.Port() == 0 {
		for taken := true; taken; _, taken = n.services[e] {
			address = netip.AddrPortFrom(address.Addr(), uint16(portFirst+n.ports))
			e.Address = address.String()
			n.ports++
		}
	}
	if n.services[e] != nil {
		return nil, opError("listen", e, os.NewSyscallError("bind", syscall.EADDRINUSE))
	}
	service := &memoryService{Service: s, net: n, at: e, address: address}
	service.impairedBy(newImpairments(nil, service.resetAll), n.Seed, s.Name)
	if err := service.speakTo(s.Peer); err != nil {
		return nil, err
	}
	n.services[e] = service
	return service, nil
}

// Dialer implements Network.
func (n *Memory) Dialer(c Client) Dialer {
	d := &memoryDialer{Client: c, net: n}
	d.impairedBy(newImpairments(nil, d.resetAll), n.Seed, "client", c.Name)
	return d
}

// Dial implements Network.
func (n *Memory) Dial(e Endpoint, f Framing) (Conn, error) {
	return n.Dialer(Client{Name: e.String()}).Dial(e, f)
}

// literal is an endpoint's address: nobody looks up names in memory.
func literal(op string, e Endpoint) (netip.AddrPort, error) {
	if err := checkEndpoint(op, e); err != nil {
		return netip.AddrPort{}, err
	}
	address, err := netip.ParseAddrPort(e.Address)
	if err != nil {
		err = opError(op, e, &net.AddrError{Err: "not an IP address and port", Addr: e.Address})
	}
	return address, err
}

// connect makes a connection of a client to an address; n.mu is held.
func (n *Memory) connect(e Endpoint, to netip.AddrPort, f Framing) *memoryConn {
	n.connections++
	port := portLast - (n.connections-1)%clientPorts
	return &memoryConn{
		inbox: newInbox(&n.mu, e, f), net: n, number: n.connections, device: to,
		controller: netip.AddrPortFrom(to.Addr(), uint16(port)),
	}
}

// leg is the part of its way that a transit is on.
type leg int

const (
	arriving leg = iota // at the other end's stage
	leaving             // at the client's own stage
	through             // both stages: what arrives now is delivered
)

// transit is a message, or the end of a connection, on its way.
type transit struct {
	conn      *memoryConn
	service   *memoryService // that sent it or has taken it
	direction Direction
	leg       leg
	bytes     []byte
	end       error // the connection ends so, after what was sent before
	fire      func()
	next      *transit // in the free list
}

// take gives an empty transit; n.mu is held.
func (n *Memory) take(c *memoryConn, d Direction) *transit {
	t := n.free
	if t == nil {
		t = &transit{}
		t.fire = func() { n.arrive(t) }
	} else {
		n.free = t.next
	}
	t.conn, t.direction, t.next = c, d, nil
	t.service, t.leg, t.end = nil, arriving, nil
	t.bytes = t.bytes[:0]
	return t
}

// give takes a transit back; n.mu is held.
func (n *Memory) give(t *transit) {
	t.conn, t.service = nil, nil
	t.next, n.free = n.free, t
}

// release takes a transit back.
func (n *Memory) release(t *transit) {
	n.mu.Lock()
	n.give(t)
	n.mu.Unlock()
}

// arrive is the event at the end of every leg of a transit.
func (n *Memory) arrive(t *transit) {
	switch {
	case t.leg == leaving:
		t.conn.dialer.sendOff(t)
	case t.direction == ToDevice:
		n.arriveAtDevice(t)
	case t.conn.owner != nil:
		n.arriveAtPeer(t)
	default:
		n.arriveAtController(t)
	}
}

// post sends a message on; n.mu is held. On a stream a later message never overtakes
// an earlier one.
func (n *Memory) post(t *transit, delay time.Duration) {
	at := n.clock.Now() + delay
	if c := t.conn; !c.datagrams() {
		last := &c.last[t.direction]
		if t.leg == through && t.direction == ToController {
			last = &c.lastDelivered
		}
		at = max(at, *last)
		*last = at
	}
	n.clock.At(at, t.fire)
}

// postEach sends deliveries on their way, in pieces where they are slow; each is a
// copy of the transit's ends. n.mu is held.
func (n *Memory) postEach(like *transit, all []delivery, next leg, delay time.Duration) {
	for _, d := range all {
		for piece := range d.pieces() {
			t := n.take(like.conn, like.direction)
			t.service, t.leg = like.service, next
			t.bytes = append(t.bytes, piece.bytes...)
			n.post(t, d.delay+delay+piece.delay)
		}
	}
}

// tap shows a message of a service that is being delivered, or what became of a stream.
func (n *Memory) tap(s *memoryService, c *memoryConn, d Direction, e Event, b []byte) {
	if n.Tap != nil {
		p := Packet{At: n.clock.Now(), Service: s.Name, Connection: c.number,
			Direction: d, Event: e, Bytes: b}
		n.Tap(p.between(c.opposite(s), s.address))
	}
}
