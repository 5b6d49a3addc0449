package controller

import (
	"errors"
	"fmt"
	"sync"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/emulators/snmp"
)

// Counters count what the observer met.
type Counters struct {
	Polls, Answered, Missed, Notifications, Undecodable uint64
	// Restarts counts how often the cycle counter began anew.
	Restarts uint64
	// LatenessMax is the longest time from a poll's own instant to its answer.
	LatenessMax time.Duration
}

// AxisView is one axis as the table told it; NaN where an axis lacks a column.
type AxisView struct {
	At                     time.Duration
	Position, Rate, Target float64 // rad, rad/s, and either
	State                  int     // the controller's own number, -1 unknown
}

// Observer is the supervisory system. Its methods may be called from anywhere.
type Observer struct {
	profile Profile
	timing  Timing
	words   *vocabulary
	clock   clock.Clock
	net     link.Network
	dialer  link.Dialer
	group   clock.Group
	ids     snmp.RequestIDs // used under the group's baton alone

	listener link.Listener
	conns    []link.Conn
	arrived  time.Duration // instant of the datagram under way
	wake     clock.Signal  // a command waits

	onChange       []func(Change)
	onNotification []func(Notice)
	onCommand      []func(Report)

	mu        sync.Mutex // guards what follows
	latest    Status
	counterAt time.Duration
	counters  Counters
	axes      [plant.AxisCount]AxisView
	version   string
	queue     []*Order
	token     int32
	number    int64 // of the last notification, -1 before the first
}

// NewObserver makes the supervisory system of a profile's controller. It fails when
// the profile does not pass its check.
func NewObserver(c clock.Clock, net link.Network, p Profile) (*Observer, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	words, err := newVocabulary(&p)
	if err != nil {
		return nil, err
	}
	o := &Observer{
		profile: p, timing: p.Timing.withDefaults(), words: words,
		clock: c, net: net, dialer: net.Dialer(link.Client{Name: "management"}),
		group: c.Group("management"), number: -1,
	}
	o.latest = Status{State: StateUnknown, Cause: Cause{Number: unknownCause}, CauseAxis: AllAxes}
	for i := range o.axes {
		o.axes[i] = unseen()
	}
	return o, nil
}

// Through has polls and commands go by a client of the caller's, who may impair it.
// Call it before Start.
func (o *Observer) Through(d link.Dialer) { o.dialer = d }

// OnChange has a hook called at every change of what is known, as an event: with
// the world held still. Set hooks before Start.
func (o *Observer) OnChange(hook func(Change)) { o.onChange = append(o.onChange, hook) }

// OnNotification has a hook called for every notification, as an event.
func (o *Observer) OnNotification(hook func(Notice)) {
	o.onNotification = append(o.onNotification, hook)
}

// OnCommand has a hook called, as an event, when a command was first sent and
// when its outcome is known.
func (o *Observer) OnCommand(hook func(Report)) { o.onCommand = append(o.onCommand, hook) }

// Start listens for notifications and begins to poll. The controller need not be
// there yet. Call it from outside.
func (o *Observer) Start() error {
	if o.profile.Notify.Address != "" {
		listener, err := o.net.Serve(link.Service{
			Name: "management", Endpoint: o.profile.Notify, Framing: link.SNMPDatagram,
			Open:    func() link.Session { return receiver{o} },
			Advance: func(now time.Duration) { o.arrived = now },
		})
		if err != nil {
			return fmt.Errorf("controller: notification receiver: %w", err)
		}
		o.listener = listener
	}
	for _, process := range []struct {
		name string
		make func(link.Conn) (func(clock.Process), error)
	}{
		{"status poll", o.statusPoll}, {"table poll", o.tablePoll}, {"commands", o.commands},
	} {
		conn, err := o.dialer.Dial(o.profile.Agent, link.SNMPDatagram)
		if err != nil {
			return errors.Join(fmt.Errorf("controller: agent: %w", err), o.Close())
		}
		o.conns = append(o.conns, conn)
		body, err := process.make(conn)
		if err != nil {
			return errors.Join(err, o.Close())
		}
		if body != nil {
			o.group.Start(process.name, body)
		}
	}
	return nil
}

// Close ends polling and listening. Call it from outside.
func (o *Observer) Close() error {
	o.group.Stop()
	var errs []error
	for _, c := range o.conns {
		errs = append(errs, c.Close())
	}
	o.conns = nil
	if o.listener != nil {
		errs = append(errs, o.listener.Close())
		o.listener = nil
	}
	return errors.Join(errs...)
}

// NotifyEndpoint is where notifications are really received, after Start.
func (o *Observer) NotifyEndpoint() link.Endpoint {
	if o.listener == nil {
		return o.profile.Notify
	}
	return o.listener.Endpoint()
}

// Status is what is known now.
func (o *Observer) Status() Status {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.latest
}

// Axis is an axis as the table last told it.
func (o *Observer) Axis(a plant.Axis) AxisView {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.axes[a]
}

// Version is the controller's own version text, "" before it was read.
func (o *Observer) Version() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.version
}

// Counters are what the observer has met so far.
func (o *Observer) Counters() Counters {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.counters
}
