package link

import (
	"net"
	"os"
	"strconv"
	"sync"
	"syscall"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/seed"
)

// latencyDefault is the way of a message between two hosts of a quiet
// switched network; common practice.
const latencyDefault = 50 * time.Microsecond

// portFirst is the first port that Memory gives out for port 0 (the dynamic
// ports of RFC 6335, section 6).
const portFirst = 49152

// Memory is a network by events of a clock. Set its fields before first use.
type Memory struct {
	Latency  time.Duration  // each way, 50 us by default; not negative
	Patience time.Duration  // for the rest of a message, 5 s by default
	Seed     seed.Seed      // of all impairments
	Tap      func(Packet)   // sees every packet; nil for none
	Trace    func(Exchange) // sees every exchange; nil for none

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
		Latency: latencyDefault, Patience: patienceDefault,
		clock: c, services: map[Endpoint]*memoryService{}, mu: guard{alone: alone},
	}
}

// guard is a mutex where things run side by side. A virtual clock is used by one
// goroutine at a time, and so is all that lives on it.
type guard struct {
	sync.Mutex
	alone bool
}

// Lock locks unless alone.
func (g *guard) Lock() {
	if !g.alone {
		g.Mutex.Lock()
	}
}

// Unlock undoes Lock.
func (g *guard) Unlock() {
	if !g.alone {
		g.Mutex.Unlock()
	}
}

// Serve implements Network.
func (n *Memory) Serve(s Service) (Listener, error) {
	if err := checkEndpoint("listen", s.Endpoint); err != nil {
		return nil, err
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	e := s.Endpoint
	if host, port, _ := net.SplitHostPort(e.Address); port == "0" {
		for taken := true; taken; _, taken = n.services[e] {
			e.Address = net.JoinHostPort(host, strconv.Itoa(portFirst+n.ports))
			n.ports++
		}
	}
	if n.services[e] != nil {
		return nil, opError("listen", e, os.NewSyscallError("bind", syscall.EADDRINUSE))
	}
	service := &memoryService{Service: s, net: n, at: e}
	service.impairments = newImpairments(nil, service.resetAll)
	for _, d := range []Direction{ToDevice, ToController} {
		service.stages[d] = newStage(n.Seed, s, d, service.impairments)
	}
	n.services[e] = service
	return service, nil
}

// Dial implements Network. A refused TCP connection is an error here; a
// refused datagram is one of the reads that follow.
func (n *Memory) Dial(e Endpoint, f Framing) (Conn, error) {
	if err := checkEndpoint("dial", e); err != nil {
		return nil, err
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	n.connections++
	c := &memoryConn{
		net: n, remote: e, framing: f, number: n.connections,
		late: opError("read", e, os.ErrDeadlineExceeded),
	}
	if e.Network == "udp" {
		return c, nil
	}
	s := n.services[e]
	if s == nil || s.impairments.Conditions().Refuse {
		return nil, refused(e)
	}
	c.service = s
	c.past[ToDevice], c.past[ToController] = s.impairments.past(), s.impairments.past()
	s.conns = append(s.conns, c)
	n.clock.At(n.clock.Now()+n.Latency, func() { s.connect(c) })
	return c, nil
}

// transit is a message, or the end of a connection, on its way.
type transit struct {
	conn      *memoryConn
	service   *memoryService // that sent it or has taken it
	direction Direction
	staged    bool // has passed the impairment stage
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
	t.service, t.staged, t.end = nil, false, nil
	t.bytes = t.bytes[:0]
	return t
}

// give takes a transit back; n.mu is held.
func (n *Memory) give(t *transit) {
	t.conn, t.service = nil, nil
	t.next, n.free = n.free, t
}

// arrive is the event at the end of every transit.
func (n *Memory) arrive(t *transit) {
	if t.direction == ToDevice {
		n.arriveAtDevice(t)
		return
	}
	if t.end == nil {
		n.tap(t)
	}
	c := t.conn
	n.mu.Lock()
	c.receive(t)
	n.mu.Unlock()
	c.signal.Raise()
}

// post sends a message that has passed its stage; n.mu is held. On a stream a
// later message never overtakes an earlier one.
func (n *Memory) post(t *transit, delay time.Duration) {
	at := n.clock.Now() + delay
	if t.conn.remote.Network == "tcp" {
		last := &t.conn.last[t.direction]
		at = max(at, *last)
		*last = at
	}
	n.clock.At(at, t.fire)
}

// tap shows a packet that is being delivered.
func (n *Memory) tap(t *transit) {
	if n.Tap != nil {
		n.Tap(Packet{
			At: n.clock.Now(), Service: t.service.Name, Connection: t.conn.number,
			Direction: t.direction, Bytes: t.bytes,
		})
	}
}
