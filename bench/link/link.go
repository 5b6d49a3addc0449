package link

import (
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
	// again: later than now, or else never. It is first asked when the
	// connection opens. Datagram services have nobody to talk to unasked.
	Emit(now time.Duration) (message []byte, next time.Duration)
}

// Service is a device on the network.
type Service struct {
	Name     string
	Endpoint Endpoint
	Framing  Framing
	// Open makes the session of a new connection.
	Open func() Session
	// Advance, which may be nil, is called before each Respond and Emit with
	// that instant. All run with the world held still, as in Clock.Do.
	Advance func(now time.Duration)
}

// Network carries messages.
type Network interface {
	// Serve puts a service on the network.
	Serve(s Service) (Listener, error)
	// Dial connects to an endpoint. It never waits for a peer: when that one
	// keeps silent, the connection's reads time out. Errors are net.OpErrors.
	Dial(e Endpoint, f Framing) (Conn, error)
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

// Packet is one message as it left the impairment stage.
type Packet struct {
	At         time.Duration // when it is delivered
	Service    string
	Connection int // counts the connections of a network from 1
	Direction  Direction
	Bytes      []byte // valid only during the call
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
