package verdict

import (
	"math"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/quantity"
)

// limitEpisodes are the instants at which a final limit or a buffer was reached.
func limitEpisodes(s *scene, _ Requirement) ([]occasion, error) {
	var found []occasion
	for _, axis := range mainAxes() {
		for _, end := range endNames() {
			for _, layer := range [...]channel.Switch{channel.FinalLimit, channel.Buffer} {
				contact, err := s.levels(layer.At(axis, end))
				if err != nil {
					return nil, err
				}
				for _, at := range contact.rises(s.from, s.until) {
					found = append(found, occasion{axis: axis, end: end, from: at})
				}
			}
		}
	}
	return found, nil
}

// structureUse judges: always, the buffer is pressed by less than its stroke. A
// hit on the structure fails whatever the depth.
func structureUse(s *scene, o occasion) (reading, error) {
	r := reading{from: o.from, until: s.until, at: o.from}
	hits, err := s.levels(channel.Structure.Of(o.axis))
	if err != nil {
		return r, err
	}
	hitAt, hit := hits.next(1, o.from)
	contact, err := s.levels(channel.Buffer.At(o.axis, o.end))
	if err != nil {
		return r, err
	}
	touched, ok := contact.next(1, o.from)
	if contact.level(o.from) == 1 {
		touched, ok = o.from, true
	}
	if hit {
		r.at, r.broken, r.note = hitAt, true, o.axis+" hit its structure"
	}
	if !ok {
		return r, nil
	}
	left, ok := contact.next(0, touched)
	if !ok {
		left = s.until
	}
	depth, err := s.outward(o, touched, left)
	if err != nil {
		return r, err
	}
	pressed := constant(depth.value, touched, left)
	rho := RobustnessAt(Always(Window{0, left - touched}, Below(pressed, o.limit)), touched)
	r.value, r.slope, r.until = o.limit-rho, depth.slope, left
	return r, nil
}

// resets are the resets and the releases of a cause, for every axis.
func resets(s *scene, _ Requirement) ([]occasion, error) {
	var found []occasion
	for _, m := range s.marks {
		if m.kind != "release" && (m.kind != "command" || m.name != "reset") {
			continue
		}
		for _, axis := range axesOf("") {
			still, err := s.standstill(axis)
			if err != nil {
				return nil, err
			}
			rest, ok := still.next(1, m.at)
			if still.level(m.at) == 1 {
				rest, ok = m.at, true
			}
			if ok && rest < s.nextFresh("", m.at) {
				found = append(found, occasion{axis: axis, from: rest})
			}
		}
	}
	return found, nil
}

// resetMotion judges: until a fresh command comes, the axis stays where it is.
func resetMotion(s *scene, o occasion) (reading, error) {
	until := s.nextFresh("", o.from)
	r, err := s.excursion(o.axis, o.from, until)
	if err != nil {
		return r, err
	}
	moved := constant(r.value, o.from, until)
	r.value = o.limit - RobustnessAt(
		Always(Window{0, until - o.from}, Below(moved, o.limit)), o.from)
	return r, nil
}

// restsAtPreLimit are the rests of an axis beyond a pre-limit.
func restsAtPreLimit(s *scene, _ Requirement) ([]occasion, error) {
	var found []occasion
	for _, axis := range mainAxes() {
		still, err := s.standstill(axis)
		if err != nil {
			return nil, err
		}
		for _, end := range endNames() {
			limit, err := s.levels(channel.PreLimit.At(axis, end))
			if err != nil {
				return nil, err
			}
			rises := limit.rises(s.from, s.until)
			for _, at := range rises {
				rest, ok := still.next(1, at)
				left, leaves := limit.next(0, at)
				if !leaves {
					left = s.until
				}
				if ok && rest < left {
					found = append(found, occasion{axis: axis, end: end, from: rest,
						until: left, closed: true})
				}
			}
		}
	}
	return found, nil
}

// overspeeds are the spans in which an axis turned faster than the overspeed rate
// with torque on.
func overspeeds(s *scene, _ Requirement) ([]occasion, error) {
	var found []occasion
	for _, axis := range axesOf("") {
		fast, err := s.driven(axis)
		if err != nil {
			return nil, err
		}
		for i, v := range fast.Value {
			if v == 1 {
				found = append(found, occasion{axis: axis, from: fast.At[i],
					until: fast.pieceEnd(i), closed: true})
			}
		}
	}
	return found, nil
}

// driven is 1 where a motor of the axis is beyond the overspeed rate and the axis
// has torque on. A motor that no longer tells how it turns has no drive-reported speed
// to be found by; its axis is judged by its partner's, and by its own time.
func (s *scene) driven(axis string) (Signal, error) {
	limit, err := s.rules.Limits.value("<axis>.overspeed_rate", axis, "", quantity.DimRate)
	if err != nil {
		return Signal{}, err
	}
	on, err := s.on(motorsOf(axis))
	if err != nil {
		return Signal{}, err
	}
	fast := constant(0, s.from, s.until)
	for _, motor := range motorsOf(axis) {
		one, err := s.beyond(channel.Rate.Of(motor), limit)
		if err != nil {
			return Signal{}, err
		}
		if at := s.speedUnknown(motor); at < one.End {
			one = one.cut(one.At[0], at)
			one.add(at, 0)
			one.End = s.until
		}
		fast = join(fast, one, math.Max)
	}
	return join(fast, on, math.Min), nil
}

// speedUnknown is when a motor ceased to report its speed; after the end where never.
func (s *scene) speedUnknown(motor string) time.Duration {
	for _, m := range s.marks {
		if c, _ := s.cause(m.name); m.kind == "cause" && c.SpeedUnknown && m.text == motor {
			return m.at
		}
	}
	return s.until + 1
}

// overspeed judges: always, too fast with torque on implies that it has not
// lasted longer than the overspeed time.
func overspeed(s *scene, o occasion) (reading, error) {
	fast, err := s.driven(o.axis)
	if err != nil {
		return reading{}, err
	}
	fast = fast.cut(o.from, o.until)
	rho := RobustnessAt(Always(Window{0, o.until - o.from},
		Implies(Holds(fast), Below(elapsed(o.from, fast), o.limit))), o.from)
	return reading{value: o.limit - rho, at: o.until, from: o.from, until: o.until,
		slope: 1}, nil
}

// firstCauses are the instants at which a stop cause became the first.
func firstCauses(s *scene, _ Requirement) ([]occasion, error) {
	first, err := s.levels(channel.ControllerCause)
	if err != nil {
		return nil, err
	}
	var found []occasion
	for i, v := range first.value {
		if i > 0 && s.rules.Causes.latching(v) &&
			!s.rules.Causes.latching(first.value[i-1]) {
			found = append(found, occasion{from: first.at[i]})
		}
	}
	return found, nil
}

// causeKept counts how often a first cause was replaced by another before a reset.
func causeKept(s *scene, o occasion) (reading, error) {
	first, err := s.levels(channel.ControllerCause)
	if err != nil {
		return reading{}, err
	}
	until := s.until
	for _, m := range s.marks {
		if m.kind == "command" && m.name == "reset" && m.at > o.from {
			until = m.at
			break
		}
	}
	r := reading{from: o.from, until: until, at: until}
	for i := first.after(o.from); i < len(first.at) && first.at[i] < until; i++ {
		if first.value[i] != 0 {
			r.value++
			r.at = min(r.at, first.at[i])
		}
	}
	return r, nil
}

// relayEnded reports whether the delayed contact of the safety relay opened within
// a span before an instant.
func (s *scene) relayEnded(at, before time.Duration) (bool, error) {
	relay, err := s.levels(channel.RelayDelayed)
	if err != nil {
		return false, err
	}
	opened, ok := relay.next(0, at-before)
	return ok && opened <= at, nil
}
