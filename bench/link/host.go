package link

import (
	"context"
	"net"
	"net/netip"
	"sync"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/seed"
)

const (
	// messageTimeoutDefault is how long a message may stay incomplete. The Modbus
	// guide names no figure; this is a bench rule.
	messageTimeoutDefault = 5 * time.Second
	// relistenEvery is how often a port that was given back, and taken by
	// another, is tried again.
	relistenEvery = 10 * time.Millisecond
	// connsMax bounds the connections of one service.
	connsMax = 256
)

// Host is the network of this machine. Set its fields before first use. Its
// clock must run by itself, as clock.Wall does.
type Host struct {
	Seed  seed.Seed      // of all impairments
	Tap   func(Packet)   // sees every packet, one at a time; nil for none
	Trace func(Exchange) // sees every exchange, one at a time; nil for none
	// MessageTimeout is for a peer that stalls in a message, 5 s by default.
	MessageTimeout time.Duration

	clock clock.Clock
	late  *clock.Lateness

	mu          sync.Mutex // guards what follows and the calls of Tap and Trace
	connections int
	services    map[Endpoint]bool // where they listen
}

// NewHost makes a network on which nothing listens yet.
func NewHost(c clock.Clock) *Host {
	return &Host{
		MessageTimeout: messageTimeoutDefault, clock: c, late: clock.NewLateness(),
		services: map[Endpoint]bool{},
	}
}

// Lateness is that of the exchanges of all services: from the reading of a
// request to the writing of its reply, without what impairments asked for.
func (h *Host) Lateness() *clock.Lateness { return h.late }

// Serve implements Network. Closing the listener waits until its goroutines
// have ended, so it must not happen inside Clock.Do.
func (h *Host) Serve(s Service) (Listener, error) {
	if err := checkEndpoint("listen", s.Endpoint); err != nil {
		return nil, err
	}
	if s.Peer != (Endpoint{}) {
		if err := checkPeer(s); err != nil {
			return nil, err
		}
	}
	d := &hostService{Service: s, host: h, at: s.Endpoint}
	if s.Endpoint.Network == "udp" {
		return serveDatagrams(d)
	}
	return serveStreams(d)
}

// Dialer implements Network.
func (h *Host) Dialer(c Client) Dialer { return newHostDialer(h, c) }

// Dial implements Network.
func (h *Host) Dial(e Endpoint, f Framing) (Conn, error) {
	return h.Dialer(Client{Name: e.String()}).Dial(e, f)
}

// settle notes where a service listens, until it is closed.
func (h *Host) settle(e Endpoint, listens bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if listens {
		h.services[e] = true
	} else {
		delete(h.services, e)
	}
}

// shows reports whether a service of this network listens at an address, which
// therefore shows the tap what arrives there; true as well when nobody looks.
func (h *Host) shows(network string, at netip.AddrPort) bool {
	if h.Tap == nil {
		return true
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	own := at.Addr().Unmap()
	hosts := []netip.Addr{own}
	if own.IsLoopback() {
		hosts = append(hosts, netip.IPv4Unspecified(), netip.IPv6Unspecified())
	}
	for _, host := range hosts {
		if h.services[Endpoint{network, netip.AddrPortFrom(host, at.Port()).String()}] {
			return true
		}
	}
	return false
}

// number counts connections.
func (h *Host) number() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.connections++
	return h.connections
}

// tap shows a packet.
func (h *Host) tap(p Packet) {
	if h.Tap != nil {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.Tap(p)
	}
}

// trace keeps the times of an exchange whose reply was due at an instant.
func (h *Host) trace(e Exchange, due time.Duration) {
	e.Lateness = max(e.Departure-due, 0)
	h.late.Record(e.Departure, e.Lateness)
	if h.Trace != nil {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.Trace(e)
	}
}

// pause waits until an instant and reports false when cancelled before.
func (h *Host) pause(until time.Duration, cancel <-chan struct{}) bool {
	if p, ok := h.clock.(interface {
		Pause(time.Duration, <-chan struct{}) bool
	}); ok {
		return p.Pause(until, cancel)
	}
	timer := time.NewTimer(until - h.clock.Now())
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-cancel:
		return false
	}
}

// listenConfig finds vanished peers by keep-alive, within half a minute.
func listenConfig() *net.ListenConfig {
	return &net.ListenConfig{KeepAliveConfig: net.KeepAliveConfig{
		Enable: true, Idle: 15 * time.Second, Interval: 5 * time.Second, Count: 3,
	}}
}

// hostService is what the listeners of streams and datagrams share.
type hostService struct {
	Service
	end
	host *Host
	at   Endpoint
}

// Endpoint implements Listener.
func (d *hostService) Endpoint() Endpoint { return d.at }

func (d *hostService) advance() {
	if d.Advance != nil {
		d.Advance(d.host.clock.Now())
	}
}

// relisten tries until the port is settled.
func (d *hostService) relisten(
	tasks *sync.WaitGroup, cancel <-chan struct{}, settled func() bool,
) {
	defer tasks.Done()
	for d.host.pause(d.host.clock.Now()+relistenEvery, cancel) && !settled() {
	}
}

// background is the context of what is bounded otherwise.
func background() context.Context { return context.Background() }
