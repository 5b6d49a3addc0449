package verdict

import (
	"math"
	"slices"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// NotSeen stands for an instant that never came.
const NotSeen = time.Duration(-1)

// Parts splits a stop: the instants, counted from the cause, at which it was
// noticed (something changed at the controller, the interlock unit or a drive),
// from which the axis only slowed, at which its motors stood and its load came to rest, at
// which the last brake was set and the last torque was gone. NotSeen where it never came, be
// it for one motor of several.
type Parts struct {
	Detected, Slowing, Standstill, LoadRest, BrakeSet, TorqueOff time.Duration
}

// slowed is the share of its greatest rate since the cause that an axis keeps before it
// counts as slowing: more than a load swings about a steady rate.
const slowed = 0.98

// parts splits the stop of an occasion. What the record does not tell is NotSeen.
func (s *scene) parts(o occasion) *Parts {
	p := &Parts{NotSeen, NotSeen, NotSeen, NotSeen, NotSeen, NotSeen}
	watched := []string{channel.ControllerCause, channel.RelayInstant, channel.Enable.To(o.axis)}
	for _, motor := range motorsOf(o.axis) {
		watched = append(watched, channel.DriveState.Of(motor), channel.STO.Of(motor),
			channel.TorqueOn.Of(motor))
	}
	for _, name := range watched {
		if l, err := s.levels(name); err == nil {
			if i := l.after(o.from); i < len(l.at) {
				p.Detected = earlier(p.Detected, l.at[i]-o.from)
			}
		}
	}
	if at, ok, err := s.stopped(o.axis, o.from); err == nil && ok {
		p.Standstill = at - o.from
	}
	p.Slowing, p.LoadRest = s.slowing(o), s.loadRest(o)
	p.BrakeSet = s.last(o, channel.BrakeSet, 1)
	p.TorqueOff = s.last(o, channel.TorqueOn, 0)
	return p
}

// last is when the last motor of an axis comes to a value of its channel; NotSeen where one
// never does. One that had it at the cause does not count.
func (s *scene) last(o occasion, of channel.Quantity, value int64) time.Duration {
	last := NotSeen
	for _, motor := range motorsOf(o.axis) {
		l, err := s.levels(of.Of(motor))
		if err != nil || l.level(o.from) == value && l.level(max(o.from-1, s.from)) == value {
			continue
		}
		at, ok := s.comes(of.Of(motor), value, o.from)
		if !ok {
			return NotSeen
		}
		last = max(last, at-o.from)
	}
	return last
}

func earlier(a, b time.Duration) time.Duration {
	if a == NotSeen {
		return b
	}
	return min(a, b)
}

// comes is when a channel comes to a value, at an instant or after it.
func (s *scene) comes(name string, value int64, from time.Duration) (time.Duration, bool) {
	l, err := s.levels(name)
	if err != nil {
		return 0, false
	}
	if l.level(from) == value && l.level(max(from-1, s.from)) != value {
		return from, true
	}
	return l.next(value, from+1)
}

// slowing is the first sample of the stop after which the axis only has less rate than the
// greatest since the cause.
func (s *scene) slowing(o occasion) time.Duration {
	at, rate, ok := s.trace.SamplesOf(channel.Rate.Of(o.axis))
	end, rests, err := s.stopEnd(o.axis, o.from)
	if !ok || err != nil || !rests {
		return NotSeen
	}
	first, _ := slices.BinarySearch(at, o.from)
	past, _ := slices.BinarySearch(at, end)
	peak, found := 0.0, NotSeen
	for _, v := range rate[first:past] {
		peak = max(peak, math.Abs(v))
	}
	for i := past - 1; i >= first && math.Abs(rate[i]) < slowed*peak; i-- {
		found = at[i] - o.from
	}
	return found
}

// loadRest is the first sample of the stop from which the axis stays below the standstill
// rate for its hold time.
func (s *scene) loadRest(o occasion) time.Duration {
	at, rate, ok := s.trace.SamplesOf(channel.Rate.Of(o.axis))
	limit, err := s.rules.Limits.value("standstill.rate", "", "", quantity.DimRate)
	hold, none := s.span("standstill.hold", "")
	if !ok || err != nil || none != nil {
		return NotSeen
	}
	since := NotSeen
	first, _ := slices.BinarySearch(at, o.from)
	for i := first; i < len(at); i++ {
		switch {
		case math.Abs(rate[i]) >= limit:
			since = NotSeen
		case since == NotSeen:
			since = at[i]
		}
		if since != NotSeen && at[i]-since >= hold {
			return since - o.from
		}
	}
	return NotSeen
}

// TorqueRemovedBy names the path that first took the torque from an axis after an instant,
// by the edges of the record in their order, and when: the enable chain and what opened it,
// the interlock enable, the supply, the drive itself, or the controller through the drive's
// state; "nothing" when torque stayed to the end.
func TorqueRemovedBy(trace Trace, axis string, from time.Duration) (string, time.Duration) {
	s := newScene(trace, Rules{})
	gone, motor := s.until+1, ""
	for _, m := range motorsOf(axis) {
		if at, ok := s.comes(channel.TorqueOn.Of(m), 0, from); ok && at < gone {
			gone, motor = at, m
		}
	}
	if motor == "" {
		return "nothing", s.until
	}
	axis, _ = axisOf(motor)
	first, name := gone+1, "the controller, through the drive's state"
	path := func(of string, value int64, by func(at time.Duration) string) {
		if at, ok := s.comes(of, value, from); ok && at <= gone && at < first {
			first, name = at, by(at)
		}
	}
	supply, none := s.levels(channel.Supply.Of(motor))
	itself := func(at time.Duration) string {
		if none == nil && supply.level(at) < fullSupply {
			return bySupply
		}
		return "the drive's own fault reaction"
	}
	path(channel.STO.Of(motor), 1, func(at time.Duration) string {
		if none == nil && supply.level(at) == 0 { // a relay without supply opens too
			return bySupply
		}
		return s.opened(axis, at)
	})
	path(channel.Enable.To(axis), 0, func(time.Duration) string { return byEnable })
	path(channel.DriveState.Of(motor), int64(cia402.Fault), itself)
	path(channel.DriveState.Of(motor), int64(cia402.FaultReactionActive), itself)
	path(channel.Supply.Of(motor), 0, itself)
	return name, gone
}

const (
	byEnable = "the controller, through the interlock enable"
	bySupply = "the supply, which was lost or dipped"
)

// fullSupply is that of a drive in the record, per mille.
const fullSupply = 1000

// opened names what opened the enable chain of an axis at an instant. What neither the limits
// nor the relay opened was opened beside the axis.
func (s *scene) opened(axis string, at time.Duration) string {
	is := func(of string, value int64) bool {
		l, err := s.levels(of)
		return err == nil && l.level(at+chainSpan) == value
	}
	for _, end := range plant.EndNames {
		if is(channel.FinalLimit.At(axis, end), 1) && !is(channel.Override, 1) {
			return "the final limit's own contact"
		}
	}
	switch {
	case is(channel.RelayDelayed, 0):
		return "the safety relay's delayed contact"
	case is(channel.Enable.To(axis), 0):
		return byEnable
	}
	return "the isolator of the axis"
}
