package verdict

import (
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
)

func mainAxes() []string { return plant.AxisNames[:plant.MainAxes] }
func endNames() []string { return plant.EndNames[:] }

// excuse is how long before a closure its reason may lie: the brake's own delay
// and those of supervision and relay are inside.
const excuse = time.Second

// brakeClosures are the instants at which a brake was set in the course of the
// record.
func brakeClosures(s *scene, _ Requirement) ([]occasion, error) {
	return s.motorEdges(channel.BrakeSet, 1)
}

// brakeReleases are the instants at which a brake let go.
func brakeReleases(s *scene, _ Requirement) ([]occasion, error) {
	return s.motorEdges(channel.BrakeSet, 0)
}

// torqueOns are the instants at which a motor's drive switched its torque on.
func torqueOns(s *scene, _ Requirement) ([]occasion, error) {
	return s.motorEdges(channel.TorqueOn, 1)
}

// motorEdges are the changes of a channel of each motor to a value, after the first.
func (s *scene) motorEdges(what channel.Quantity, value int64) ([]occasion, error) {
	var found []occasion
	for _, axis := range mainAxes() {
		for _, motor := range motorsOf(axis) {
			level, err := s.levels(what.Of(motor))
			if err != nil {
				return nil, err
			}
			for i, at := range level.at {
				if i > 0 && level.value[i] == value {
					found = append(found, occasion{axis: axis, item: motor, from: at})
				}
			}
		}
	}
	return found, nil
}

// brakeAtSpeed counts a closure above standstill that neither a category 0 cause
// nor the end of SS1 explains. A cause that only the controller can see, a motor
// that runs away, is taken from what it told the supervisory system.
func brakeAtSpeed(s *scene, o occasion) (reading, error) {
	r := reading{from: o.from, until: o.from, at: o.from}
	fast, err := s.levels(channel.ClosedAtSpeed.Of(o.item))
	if err != nil {
		return r, err
	}
	near := 5 * time.Millisecond // the flag may come a few steps after the brake
	if len(fast.rises(o.from-near, o.from+near)) == 0 {
		return r, nil
	}
	coil, err := s.levels(channel.BrakeCoil.Of(o.item))
	if err != nil || coil.level(o.from) == 1 { // it closed by itself
		return r, err
	}
	explained, err := s.relayEnded(o.from, excuse)
	if err != nil {
		return r, err
	}
	ramp, err := s.span("interlock.ss1_time", "")
	if err != nil {
		return r, err
	}
	for _, m := range s.marks {
		c, known := s.cause(m.name)
		since := o.from - m.at
		if m.kind == "report" && known && c.Category == 1 && since >= ramp && since <= ramp+excuse {
			explained = true // the end of the ramp time that the controller monitors
		}
		told := m.kind == "report" && c.Uncontrolled
		if !(m.kind == "cause" || told) || !known || c.Category != 0 {
			continue
		}
		mine := m.axis == "" || m.axis == o.axis || c.EveryAxis
		if mine && m.at <= o.from && o.from <= m.at+excuse {
			explained = true
		}
	}
	if !explained {
		r.value, r.note = 1, "the brake of "+o.item+" was closed at speed"
	}
	return r, nil
}

// brakeDragged is the longest that a brake was dragged from one switching on of its
// motor's torque to the next: torque against the set brake while turning. A brake that
// closes by itself, its coil powered, is nobody's drag until the coil goes.
func brakeDragged(s *scene, o occasion) (reading, error) {
	r := reading{from: o.from, until: s.until, at: o.from}
	torque, err := s.levels(channel.TorqueOn.Of(o.item))
	if err != nil {
		return r, err
	}
	if again, ok := torque.next(1, o.from+1); ok {
		r.until = again
	}
	drags, err := s.levels(channel.BrakeDragging.Of(o.item))
	if err != nil {
		return r, err
	}
	coil, err := s.levels(channel.BrakeCoil.Of(o.item))
	if err != nil {
		return r, err
	}
	released := coil.signal(s.from, s.until)
	drag := join(drags.signal(s.from, s.until), released,
		func(drags, released float64) float64 { return drags * (1 - released) })
	drag = drag.cut(o.from, r.until)
	rule := Holds(drag)
	for i, v := range drag.Value {
		if v != 1 {
			continue
		}
		span := drag.cut(drag.At[i], drag.pieceEnd(i))
		inHand := RobustnessAt(Always(Window{0, span.End - span.At[0]},
			Implies(rule, Below(elapsed(span.At[0], span), o.limit))), span.At[0])
		if length := o.limit - inHand; length > r.value {
			r.value, r.at, r.slope = length, span.At[0], 1
		}
	}
	return r, nil
}

// releaseWithTorque is how long before a brake let go its motor had torque; it is
// negative when the torque came after, by at least what is left of the record
// when it never came.
func releaseWithTorque(s *scene, o occasion) (reading, error) {
	r := reading{from: o.from, until: o.from, at: o.from, slope: 1}
	torque, err := s.levels(channel.TorqueOn.Of(o.item))
	if err != nil {
		return r, err
	}
	if torque.level(o.from) == 1 {
		since := torque.at[max(0, torque.after(o.from)-1)]
		r.value = (o.from - since).Seconds()
		return r, nil
	}
	at, ok := torque.next(1, o.from)
	if !ok {
		at, r.broken, r.note = s.until, true, o.item+" never had torque after it"
	}
	r.value = -(at - o.from).Seconds()
	return r, nil
}
