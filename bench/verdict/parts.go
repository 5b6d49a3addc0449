package verdict

import (
	"math"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
	"haltmark/emulators/cia402"
)

// NotSeen stands for an instant that never came.
const NotSeen = time.Duration(-1)

// Parts splits a stop: the instants, counted from the cause, at which it was
// noticed (something changed at the controller, the interlock unit or a drive),
// at which the axis began to slow, at which it stood, at which the last brake was
// set and at which the last torque was gone. NotSeen where it never came.
type Parts struct {
	Detected, Slowing, Standstill, BrakeSet, TorqueOff time.Duration
}

// slowed is the share of its rate that an axis keeps before it counts as slowing.
const slowed = 0.98

// parts splits the stop of an occasion. What the record does not tell is NotSeen.
func (s *scene) parts(o occasion) *Parts {
	p := &Parts{NotSeen, NotSeen, NotSeen, NotSeen, NotSeen}
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
	p.Slowing = s.slowing(o)
	for _, motor := range motorsOf(o.axis) {
		p.BrakeSet = max(p.BrakeSet, s.following(channel.BrakeSet.Of(motor), 1, o.from))
		p.TorqueOff = max(p.TorqueOff, s.following(channel.TorqueOn.Of(motor), 0, o.from))
	}
	return p
}

func earlier(a, b time.Duration) time.Duration {
	if a == NotSeen {
		return b
	}
	return min(a, b)
}

// following is when a channel next comes to a value, counted from an instant.
func (s *scene) following(name string, value int64, from time.Duration) time.Duration {
	l, err := s.levels(name)
	if err != nil {
		return NotSeen
	}
	if at, ok := l.next(value, from+1); ok {
		return at - from
	}
	return NotSeen
}

// slowing is the first sample at which the axis has lost rate.
func (s *scene) slowing(o occasion) time.Duration {
	at, rate, ok := s.trace.SamplesOf(channel.Rate.Of(o.axis))
	origin, err := s.at(channel.Rate.Of(o.axis), o.from)
	if !ok || err != nil {
		return NotSeen
	}
	for i, v := range rate {
		if at[i] > o.from && math.Abs(v) < slowed*math.Abs(origin) {
			return at[i] - o.from
		}
	}
	return NotSeen
}

// TorqueRemovedBy names the path that first took the torque from an axis after an
// instant, and when: the controller through its enable or the drive's state, the
// hardwired limit, the relay, the drive itself, the supply; "nothing" when torque
// stayed to the end.
func TorqueRemovedBy(trace Trace, axis string, from time.Duration) (string, time.Duration) {
	s := newScene(trace, Rules{})
	gone, motor := s.until+1, ""
	for _, m := range motorsOf(axis) {
		if d := s.following(channel.TorqueOn.Of(m), 0, from); d != NotSeen && from+d < gone {
			gone, motor = from+d, m
		}
	}
	if motor == "" {
		return "nothing", s.until
	}
	axis, _ = axisOf(motor)
	type path struct {
		channel string
		value   int64
		name    string
		wired   bool // it acts through the enable chain or not at all
	}
	const limit, own = "the final limit's own contact", "the drive's own fault reaction"
	paths := []path{
		{channel.FinalLimit.At(axis, plant.EndNames[plant.Lower]), 1, limit, true},
		{channel.FinalLimit.At(axis, plant.EndNames[plant.Upper]), 1, limit, true},
		{channel.RelayDelayed, 0, "the safety relay's delayed contact", false},
		{channel.Enable.To(axis), 0, "the controller, through the interlock enable", false},
		{channel.DriveState.Of(motor), int64(cia402.Fault), own, false},
		{channel.DriveState.Of(motor), int64(cia402.FaultReactionActive), own, false},
	}
	first, name := s.until+1, "the controller, through the drive's state"
	for _, p := range paths {
		l, err := s.levels(p.channel)
		if err != nil {
			continue
		}
		at, ok := l.next(p.value, from)
		if ok && at <= gone && at < first && (!p.wired || s.chainOpen(motor, at)) {
			first, name = at, p.name
		}
	}
	return name, gone
}
