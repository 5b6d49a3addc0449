package verdict

import (
	"math"
	"time"

	"haltmark/bench/channel"
)

// standstill returns the standstill edges of an axis.
func (s *scene) standstill(axis string) (levels, error) {
	return s.levels(channel.Standstill.Of(axis))
}

// stopped is the first instant of standstill after a start. It fails when the
// axis was at rest already at the cause; ok is false when it never came to rest.
func (s *scene) stopped(axis string, from time.Duration) (at time.Duration, ok bool, err error) {
	still, err := s.standstill(axis)
	if err != nil {
		return 0, false, err
	}
	if still.level(from) == 1 {
		return 0, false, &UnmetError{axis + " was at rest when the cause came"}
	}
	at, ok = still.next(1, from)
	return at, ok, nil
}

// standing is the first instant of standstill from an instant on, that one included.
func (s *scene) standing(axis string, from time.Duration) (at time.Duration, ok bool, err error) {
	still, err := s.standstill(axis)
	if err != nil {
		return 0, false, err
	}
	if still.level(from) == 1 {
		return from, true, nil
	}
	at, ok = still.next(1, from)
	return at, ok, nil
}

// stopTime is from the start of an occasion to the first instant after which the
// motors stay below the standstill rate for its hold time.
func stopTime(s *scene, o occasion) (reading, error) {
	start, err := s.start(o)
	if err != nil {
		return reading{}, err
	}
	at, ok, err := s.stopped(o.axis, o.from)
	if err != nil {
		return reading{}, err
	}
	if !ok {
		return reading{value: (s.until - start).Seconds(), at: s.until, from: start,
			until: s.until, slope: 1, open: true, note: o.axis + " never came to rest"}, nil
	}
	return reading{value: (at - start).Seconds(), at: at, from: start, until: at, slope: 1}, nil
}

// stopEnd is when a stop and the ring-down of its hold time are over.
func (s *scene) stopEnd(
	axis string, from time.Duration,
) (end time.Duration, rests bool, err error) {
	at, ok, err := s.stopped(axis, from)
	if err != nil || !ok {
		return s.until, false, err
	}
	hold, err := s.span("standstill.hold", axis)
	return min(at+hold, s.until), true, err
}

// stopTravel is the peak excursion of the axis from where it was at the start of
// an occasion until the ring-down of the stop is over.
func stopTravel(s *scene, o occasion) (reading, error) {
	start, err := s.start(o)
	if err != nil {
		return reading{}, err
	}
	end, rests, err := s.stopEnd(o.axis, o.from)
	if err != nil {
		return reading{}, err
	}
	if at, ok, err := s.stopped(o.axis, o.from); err == nil && ok && at <= start {
		start = o.from // it stood before it had to be found: all of its way counts
	}
	r, err := s.excursion(o.axis, start, max(start, end))
	r.open = !rests
	return r, err
}

// excursion is the farthest that an axis gets, either way, from where it was.
func (s *scene) excursion(axis string, from, until time.Duration) (reading, error) {
	r := reading{from: from, until: until, at: until}
	origin, err := s.at(channel.Position.Of(axis), from)
	if err != nil {
		return r, err
	}
	rate, err := s.at(channel.Rate.Of(axis), from)
	if err != nil {
		return r, err
	}
	low, high, err := s.bounds(channel.Position.Of(axis), from, until)
	r.value, r.slope = max(high-origin, origin-low), math.Abs(rate)
	return r, err
}

// on is 1 while any of the motors produces torque, over the whole record.
func (s *scene) on(motors []string) (Signal, error) {
	out := constant(0, s.from, s.until)
	for _, motor := range motors {
		one, err := s.levels(channel.TorqueOn.Of(motor))
		if err != nil {
			return out, err
		}
		out = join(out, one.signal(s.from, s.until), math.Max)
	}
	return out, nil
}

// signal turns edges into a signal over a domain.
func (l levels) signal(from, end time.Duration) Signal {
	out := constant(float64(l.level(from)), from, end)
	for i := l.after(from); i < len(l.at) && l.at[i] <= end; i++ {
		out.add(l.at[i], float64(l.value[i]))
	}
	return out
}

// elapsed is the time since an instant, in seconds, at its greatest within each
// piece of the given signal: a rule about it judges a piece by its end.
func elapsed(since time.Duration, over Signal) Signal {
	out := Signal{End: over.End}
	for i, at := range over.At {
		out.At = append(out.At, at)
		out.Value = append(out.Value, (over.pieceEnd(i) - since).Seconds())
	}
	return out
}

// bySTO is the item that has torque count as removed only when the safe torque off of every
// drive has had the time it takes: then a path is shown, whoever was faster.
const bySTO = "sto"

// untilSTO is 1 too until each of the motors has had its safe torque off since an instant.
func (s *scene) untilSTO(on Signal, motors []string, from time.Duration) (Signal, error) {
	for _, motor := range motors {
		sto, err := s.levels(channel.STO.Of(motor))
		if err != nil {
			return on, err
		}
		axis, _ := axisOf(motor)
		takes, err := s.span("<axis>.sto_time", axis)
		if err != nil {
			return on, err
		}
		at := from
		if sto.level(from) == 0 || sto.level(max(from-1, s.from)) == 0 {
			at = s.until
			if rise, ok := sto.next(1, from); ok {
				at = rise + takes
			}
		}
		waits := constant(1, s.from, s.until)
		if at < s.until {
			waits.add(at, 0)
		}
		on = join(on, waits, math.Max)
	}
	return on, nil
}

// goneBy judges: always, torque on implies that less than the limit has passed
// since the start. Its robustness is the time in hand, and the value follows.
func (s *scene) goneBy(motors []string, o occasion) (reading, error) {
	start, err := s.start(o)
	if err != nil {
		return reading{}, err
	}
	on, err := s.on(motors)
	if err != nil {
		return reading{}, err
	}
	if before := max(o.from-1, s.from); on.at(before) == 0 && on.at(o.from) == 0 {
		return reading{}, &UnmetError{"nothing had torque when the cause came"}
	}
	if o.item == bySTO {
		if on, err = s.untilSTO(on, motors, o.from); err != nil {
			return reading{}, err
		}
	}
	due := start + duration(o.limit)
	end := max(s.nextFresh(o.axis, due), o.from)
	window := on.cut(o.from, min(end, s.until))
	rule := Always(Window{0, window.End - o.from},
		Implies(Holds(window), Below(elapsed(start, window), o.limit)))
	rho := RobustnessAt(rule, o.from)
	r := reading{from: start, until: window.End, at: window.End, slope: 1}
	if math.IsInf(rho, 1) { // no torque from the cause on
		r.value, r.at = (o.from - start).Seconds(), o.from
		return r, nil
	}
	r.value = o.limit - rho
	r.at = start + duration(r.value)
	r.open = window.at(window.End) == 1 && window.End == s.until && s.until < due
	return r, nil
}

// torqueGone is the last instant with torque on an axis, or on any, counted from
// the start of an occasion.
func torqueGone(s *scene, o occasion) (reading, error) {
	return s.goneBy(motorsOf(o.axis), o)
}

// partnerOff is the same for the other motor of the pair; where the tripped one
// is not named, for both.
func partnerOff(s *scene, o occasion) (reading, error) {
	tripped := o.item
	axis, ok := axisOf(tripped)
	if !ok {
		return s.goneBy(motorsOf(o.axis), o)
	}
	o.axis = axis
	var partners []string
	for _, motor := range motorsOf(axis) {
		if motor != tripped {
			partners = append(partners, motor)
		}
	}
	if len(partners) == 0 {
		return reading{}, &UnmetError{tripped + " has no partner"}
	}
	return s.goneBy(partners, o)
}

// endOfSS1 is the item that has brakes counted from the end of SS1 alone, where
// nobody is left to set them earlier.
const endOfSS1 = "end_of_ss1"

// brakeTime is how long the last brake of an axis takes: from the cause for
// category 0, from standstill or the end of SS1 for category 1, whichever comes
// first.
func brakeTime(s *scene, o occasion) (reading, error) {
	start, err := s.start(o)
	if err != nil {
		return reading{}, err
	}
	if c, known := s.cause(o.cause); known && c.Category != 0 {
		ss1, err := s.span("interlock.ss1_time", "")
		if err != nil {
			return reading{}, err
		}
		at, rests, err := s.standing(o.axis, o.from)
		if err != nil {
			return reading{}, err
		}
		found := start // before that nobody can know of the cause
		start += ss1
		if rests && o.item != endOfSS1 {
			start = min(start, max(at, found))
		}
	}
	r := reading{value: math.Inf(-1), from: start, slope: 1}
	released := false
	for _, motor := range motorsOf(o.axis) {
		set, err := s.levels(channel.BrakeSet.Of(motor))
		if err != nil {
			return r, err
		}
		released = released || set.level(max(o.from-1, s.from)) == 0 || set.level(o.from) == 0
		at, ok := set.next(1, o.from)
		switch {
		case set.level(o.from) == 1:
			at = o.from
		case !ok:
			at, r.open, r.note = s.until, true, "the brake of "+motor+" was never set"
		}
		if v := (at - start).Seconds(); v > r.value {
			r.value, r.at, r.until = v, at, at
		}
	}
	if !released {
		return r, &UnmetError{"the brakes were set when the cause came"}
	}
	return r, nil
}

// bypassed reports whether a final limit opens while the override key bypasses it.
func (s *scene) bypassed(m mark) bool {
	key, err := s.levels(channel.Override)
	return err == nil && m.name == string(channel.FinalLimit) && key.level(m.at) == 1
}

// poweredCauses are the cause marks of a requirement at which a motor that has
// to let go was producing torque.
func poweredCauses(s *scene, q Requirement) ([]occasion, error) {
	var found []occasion
	for _, m := range s.marks {
		c, known := s.cause(m.name)
		if m.kind != "cause" || !known || !q.about(m.name) {
			continue
		}
		o := occasion{axis: m.axis, cause: m.name, from: m.at}
		if c.EveryAxis {
			o.axis = ""
		}
		if o.item = q.Item; o.item == "" {
			if _, isMotor := axisOf(m.text); isMotor {
				o.item = m.text
			}
		}
		on, err := s.on(motorsOf(o.axis))
		if err != nil {
			return nil, err
		}
		if s.bypassed(m) {
			continue // the controller alone is left to act
		}
		if q.Measure == "partner_off" && len(motorsOf(o.axis)) < 2 {
			continue // nobody to let go
		}
		if on.at(m.at-1) == 1 || on.at(m.at) == 1 {
			found = append(found, o)
		}
	}
	return found, nil
}
