package link

import (
	"context"
	"net"
	"sync"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/seed"
)

const (
	// patienceDefault is how long a message may stay incomplete. The Modbus
	// guide names no figure; this is a bench rule.
	patienceDefault = 5 * time.Second
	// relistenEvery is how often a port that was given back, and taken by
	// another, is tried again.
	relistenEvery = 10 * time.Millisecond
	// connsMax bounds the connections of one service.
	connsMax = 256
)

// Host is the network of this machine. Set its fields before first use. Its
// clock must run by itself, as clock.Wall does.
type Host struct {
	Seed     seed.Seed      // of all impairments
	Tap      func(Packet)   // sees every packet, one at a time; nil for none
	Trace    func(Exchange) // sees every exchange, one at a time; nil for none
	Patience time.Duration  // with a peer that stalls in a message, 5 s by default

	clock clock.Clock
	late  *clock.Lateness

	mu          sync.Mutex // guards connections and the calls of Tap and Trace
	connections int
}

// NewHost makes a network on which nothing listens yet.
func NewHost(c clock.Clock) *Host {
	return &Host{Patience: patienceDefault, clock: c, late: clock.NewLateness()}
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
	d := &hostService{Service: s, host: h, at: s.Endpoint}
	if s.Endpoint.Network == "udp" {
		return serveDatagrams(d)
	}
	return serveStreams(d)
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
	host        *Host
	at          Endpoint
	impairments *Impairments
	stages      [2]*stage
}

func (d *hostService) impairedBy(i *Impairments) {
	d.impairments = i
	for _, way := range []Direction{ToDevice, ToController} {
		d.stages[way] = newStage(d.host.Seed, d.Service, way, i)
	}
}

// Endpoint implements Listener.
func (d *hostService) Endpoint() Endpoint { return d.at }

// Impairments implements Listener.
func (d *hostService) Impairments() *Impairments { return d.impairments }

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
