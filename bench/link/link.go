package link

import (
	"net/netip"
	"time"

	"haltmark/bench/clock"
)

// MaxMessage is the largest message that either network carries, in bytes.
const MaxMessage = 64 << 10

// Endpoint is an address on a network.
type Endpoint struct {
	Network string // "tcp" or "udp"
	Address string // host:port; on Host, port 0 means any free port
}

// String is the endpoint as "tcp 127.0.0.1:15001".
func (e Endpoint) String() string { return e.Network + " " + e.Address }

// Session is one connection's view of a device; a datagram service has one
// session for all its peers.
type Session interface {
	// Respond appends the reply to a request to dst. An appended nothing is
	// silence. The request is valid only during the call.
	Respond(dst, request []byte) []byte
}

// Emitter is a Session that also talks unasked.
type Emitter interface {
	// Emit returns what to say now, which may be nothing, and when to be asked
	// again: later than now, or else never. It is first asked when the connection
	// opens; of a datagram service, when it has somebody to talk to.
	Emit(now time.Duration) (message []byte, next time.Duration)
}

// Service is a device on the network.
type Service struct {
	Name     string
	Endpoint Endpoint
	Framing  Framing
	// Peer is whom a datagram service talks to unasked; the zero value is whoever
	// asked last.
	Peer Endpoint
	// Open makes the session of a new connection.
	Open func() Session
	// Advance, which may be nil, is called before each Respond and Emit with
	// that instant. All run with the world held still, as in Clock.Do.
	Advance func(now time.Duration)
}

// Client is a party that dials, such as the supervisory system.
type Client struct {
	Name string // of what its impairments draw
	// Advance, which may be nil, is called, as a service's is, before each message of
	// its connections, so that an impairment which begins by it counts for that one.
	Advance func(now time.Duration)
}

// Network carries messages.
type Network interface {
	// Serve puts a service on the network.
	Serve(s Service) (Listener, error)
	// Dialer puts a client on the network.
	Dialer(c Client) Dialer
	// Dial connects as a client of its own, named by the endpoint.
	Dial(e Endpoint, f Framing) (Conn, error)
}

// Dialer is a client on its network.
type Dialer interface {
	// Dial connects to an endpoint. It never waits for a peer: when that one
	// keeps silent, the connection's reads time out. Errors are net.OpErrors.
	Dial(e Endpoint, f Framing) (Conn, error)
	// Impairments of the traffic of all the client's connections, at its own end.
	Impairments() *Impairments
}

// Listener is a service on its network.
type Listener interface {
	// Endpoint is where the service really listens.
	Endpoint() Endpoint
	// Impairments of this service's traffic.
	Impairments() *Impairments
	// Close ends the service and its connections.
	Close() error
}

// Conn is a controller's end of a connection. It is for one process.
type Conn interface {
	// Write sends one message; it never waits for the peer.
	Write(message []byte) error
	// Read returns the next message, which is valid until the next Read. It
	// gives os.ErrDeadlineExceeded at the deadline, io.EOF after the peer
	// closed, ErrFraming when the peer's bytes make no message, and the
	// system's errors (refused, reset) inside a net.OpError.
	Read(p clock.Process, deadline time.Duration) ([]byte, error)
	// Impairments are those of the client that dialled.
	Impairments() *Impairments
	// Close ends the connection. It never waits for the peer.
	Close() error
}

// Direction of a message.
type Direction int

// The directions.
const (
	ToDevice Direction = iota
	ToController
)

// String is the direction as a phrase.
func (d Direction) String() string {
	if d == ToDevice {
		return "to device"
	}
	return "to controller"
}

// Event is what a packet tells.
type Event int

// The events. A stream opens once and ends once, by EventClose or EventReset, unless it
// ends in a way that the other end never hears of. A refused attempt is no event.
const (
	EventMessage Event = iota
	EventOpen          // by the controller
	EventClose         // by the sender, in order
	EventReset         // by the sender, broken off
)

// String is the event in a word.
func (e Event) String() string { return [...]string{"message", "open", "close", "reset"}[e] }

// Packet is one message, or what became of a stream, as the wire at the device shows
// it: what goes to a device has passed all impairments and is being delivered, what
// comes from one has passed its own. A device that is not of this network shows nothing;
// then it is the wire at the client, which has passed the client's impairments on its
// way out and not yet on its way in. A datagram between two services is shown once, by
// the receiver.
type Packet struct {
	At         time.Duration
	Service    string // the name of the service, or of the client where that shows it
	Connection int    // counts the connections of a network from 1
	// Source and Destination are the sender's and the receiver's address. All datagrams
	// of a Host service have one Connection: its peers differ by address alone.
	Source, Destination netip.AddrPort
	Direction           Direction
	Event               Event
	Bytes               []byte // of a message; valid only during the call
}

// between fills in the addresses of both ends.
func (p Packet) between(controller, device netip.AddrPort) Packet {
	controller = netip.AddrPortFrom(controller.Addr().Unmap(), controller.Port())
	device = netip.AddrPortFrom(device.Addr().Unmap(), device.Port())
	p.Source, p.Destination = controller, device
	if p.Direction == ToController {
		p.Source, p.Destination = device, controller
	}
	return p
}

// Exchange is one request and its reply as the device's end saw them.
type Exchange struct {
	Service    string
	Connection int
	Arrival    time.Duration // the request was complete
	Departure  time.Duration // the reply was handed to the system
	// Lateness is the part of Departure minus Arrival that no impairment asked
	// for; always 0 on Memory.
	Lateness time.Duration
}
