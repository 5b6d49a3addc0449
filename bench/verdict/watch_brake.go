package verdict

import (
	"math"
	"slices"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
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

// brakeAtSpeed counts a closure above standstill that neither a category 0 cause, nor a motor
// that runs away, nor the end of SS1 or of the controller's own ramp time explains. What
// excuses it is what the bench did, contacts and speeds, never what the controller told.
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
	if ok, err := s.explained(o); err != nil || ok {
		return r, err
	}
	r.value, r.note = 1, "the brake of "+o.item+" was closed at speed"
	return r, nil
}

// explained reports whether the relay, a stop cause or a motor that ran away explains what a
// brake did or did not do, or one of more reasons.
func (s *scene) explained(o occasion, more ...func(occasion) (bool, error)) (bool, error) {
	relay := func(o occasion) (bool, error) { return s.relayEnded(o.from, excuse) }
	for _, reason := range append(more, relay, s.caused, s.ranAway) {
		if ok, err := reason(o); err != nil || ok {
			return ok, err
		}
	}
	return false, nil
}

// caused reports whether a stop cause on the axis of an occasion explains a closure: one of
// category 0 at once, one of category 1 at the end of the ramp time that the controller
// monitors, which counts from when it must have found the cause.
func (s *scene) caused(o occasion) (bool, error) {
	ramp, err := s.span("interlock.ss1_time", "")
	if err != nil {
		return false, err
	}
	for _, m := range s.marks {
		c, known := s.cause(m.name)
		mine := m.axis == "" || m.axis == o.axis || c.EveryAxis
		if m.kind != "cause" || !known || !mine || m.at > o.from {
			continue
		}
		switch c.Category {
		case 0:
			if o.from <= m.at+excuse {
				return true, nil
			}
		case 1:
			found, err := s.start(occasion{axis: m.axis, cause: m.name, from: m.at})
			if err == nil && o.from >= m.at+ramp && o.from <= found+ramp+excuse {
				return true, nil
			}
		}
	}
	return false, nil
}

// ranAway reports whether shortly before an occasion a motor of its axis was faster than the
// overspeed rate, or two of them differed by more than they may.
func (s *scene) ranAway(o occasion) (bool, error) {
	limit, err := s.rules.Limits.value("<axis>.overspeed_rate", o.axis, "", quantity.DimRate)
	if err != nil {
		return false, err
	}
	apart, err := s.rules.Limits.value("disagreement.rate", "", "", quantity.DimRate)
	if err != nil {
		return false, err
	}
	for _, motor := range motorsOf(o.axis) {
		at, rate, ok := s.trace.SamplesOf(channel.Rate.Of(motor))
		if !ok {
			return false, &MissingError{channel.Rate.Of(motor)}
		}
		first, _ := slices.BinarySearch(at, o.from-excuse)
		past, _ := slices.BinarySearch(at, o.from)
		for _, v := range rate[first:past] {
			if math.Abs(v) > limit {
				return true, nil
			}
		}
	}
	return s.differed(o, apart)
}

// differed reports whether the motors of an axis had rates apart shortly before an occasion.
func (s *scene) differed(o occasion, apart float64) (bool, error) {
	motors := motorsOf(o.axis)
	at, one, ok := s.trace.SamplesOf(channel.Rate.Of(motors[0]))
	if !ok || len(motors) < 2 {
		return false, nil
	}
	_, two, ok := s.trace.SamplesOf(channel.Rate.Of(motors[1]))
	if !ok {
		return false, &MissingError{channel.Rate.Of(motors[1])}
	}
	first, _ := slices.BinarySearch(at, o.from-excuse)
	past, _ := slices.BinarySearch(at, o.from)
	for i := first; i < past; i++ {
		if math.Abs(one[i]-two[i]) > apart {
			return true, nil
		}
	}
	return false, nil
}

// restsOnBrakes are the spans in which every brake of an axis is set and no motor has torque.
func restsOnBrakes(s *scene, _ Requirement) ([]occasion, error) {
	var found []occasion
	for _, axis := range mainAxes() {
		loose, err := s.on(motorsOf(axis))
		if err != nil {
			return nil, err
		}
		open, err := s.brakeOpen(axis)
		if err != nil {
			return nil, err
		}
		loose = join(loose, open, math.Max)
		for i, at := range loose.At {
			if loose.Value[i] == 0 && loose.pieceEnd(i) > at {
				found = append(found, occasion{axis: axis, from: at, until: loose.pieceEnd(i)})
			}
		}
	}
	return found, nil
}

// brakeOpen is 1 while any brake of an axis is not set, over the whole record.
func (s *scene) brakeOpen(axis string) (Signal, error) {
	any := constant(0, s.from, s.until)
	for _, motor := range motorsOf(axis) {
		set, err := s.levels(channel.BrakeSet.Of(motor))
		if err != nil {
			return any, err
		}
		open := set.signal(s.from, s.until).each(func(v float64) float64 { return 1 - v })
		any = join(any, open, math.Max)
	}
	return any, nil
}

// brakeSlip is how far an axis gets while it rests on its brakes: what is left of a stop when
// the last one is set, and what they let through afterwards.
func brakeSlip(s *scene, o occasion) (reading, error) {
	return s.excursion(o.axis, o.from, o.until)
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
