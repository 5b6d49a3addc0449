package verdict

import (
	"math"
	"slices"
	"strings"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/quantity"
)

// looseSpans begin each time that a main axis is no longer held under torque with a brake open;
// they last as long as the brake stays open without torque, and are empty where it was set.
func looseSpans(s *scene, _ Requirement) ([]occasion, error) {
	var found []occasion
	for _, axis := range mainAxes() {
		on, err := s.on(motorsOf(axis))
		if err != nil {
			return nil, err
		}
		open, err := s.brakeOpen(axis)
		if err != nil {
			return nil, err
		}
		loose := join(open, on, func(open, on float64) float64 { return open * (1 - on) })
		held := join(open, on, func(open, on float64) float64 { return open * on })
		for i := range held.At { // each time that it was held there was an occasion to let go
			if held.Value[i] != 1 {
				continue
			}
			o := occasion{axis: axis, from: held.pieceEnd(i), until: held.pieceEnd(i)}
			if loose.at(o.from) == 1 {
				o.until = loose.next(0, o.from, s.until)
			}
			found = append(found, o)
		}
	}
	return found, nil
}

// looseTime is how long an axis that was held hangs on nothing, unless a cause of category 0,
// a motor that runs away or the end of a monitored ramp time explains it.
func looseTime(s *scene, o occasion) (reading, error) {
	r := reading{from: o.from, until: o.until, at: o.from, slope: 1}
	if o.until == o.from {
		r.slope = 0
		return r, nil
	}
	if ok, err := s.explained(o, s.unsupplied, s.atItsEnd, s.untrusted); err != nil || ok {
		r.slope = 0
		return r, err
	}
	r.value, r.note = (o.until - o.from).Seconds(), o.axis+" had neither torque nor brakes"
	return r, nil
}

// untrusted reports whether a motor of an axis had ceased to obey or to tell its speed, or is
// wired the wrong way round.
func (s *scene) untrusted(o occasion) (bool, error) {
	return slices.ContainsFunc(s.marks, func(m mark) bool {
		if m.kind == "fault" && m.name == "direction_changed" {
			return strings.HasPrefix(m.axis, o.axis+".")
		}
		c, known := s.cause(m.name)
		return m.kind == "cause" && known && c.Uncontrolled && m.at <= o.from &&
			(m.axis == "" || m.axis == o.axis)
	}), nil
}

// unsupplied reports whether a drive of an axis lacked supply shortly before an occasion.
func (s *scene) unsupplied(o occasion) (bool, error) {
	for _, motor := range motorsOf(o.axis) {
		supply, err := s.levels(channel.Supply.Of(motor))
		if err != nil {
			return false, err
		}
		if supply.level(o.from) < fullSupply || supply.level(o.from-excuse) < fullSupply {
			return true, nil
		}
		for _, v := range supply.value[supply.after(o.from-excuse):supply.after(o.from)] {
			if v < fullSupply {
				return true, nil
			}
		}
	}
	return false, nil
}

// atItsEnd reports whether an axis stood in a buffer or past a final limit.
func (s *scene) atItsEnd(o occasion) (bool, error) {
	for _, end := range endNames() {
		for _, part := range []channel.Switch{channel.Buffer, channel.FinalLimit} {
			there, err := s.levels(part.At(o.axis, end))
			if err != nil {
				return false, err
			}
			if there.level(o.from) == 1 || len(there.rises(o.from-excuse, o.from)) > 0 {
				return true, nil
			}
		}
	}
	return false, nil
}

// biasSpan is how long torques are averaged, and biasSettling how long after the brakes have
// opened they are left to settle.
const (
	biasSpan     = 200 * time.Millisecond
	biasSettling = 600 * time.Millisecond
)

// biasedSpans are those in which both motors of an axis drive it and nothing is wrong with them.
func biasedSpans(s *scene, _ Requirement) ([]occasion, error) {
	var found []occasion
	for _, axis := range mainAxes() {
		driven, err := s.driving(axis)
		if err != nil {
			return nil, err
		}
		sound := s.soundUntil()
		for i := range driven.At {
			from, until := driven.At[i]+biasSettling, min(driven.pieceEnd(i), sound)
			if driven.Value[i] == 1 && until >= from+biasSpan {
				found = append(found, occasion{axis: axis, from: from, until: until})
			}
		}
	}
	return found, nil
}

// driving is 1 while every motor of an axis has torque and every brake of it is open.
func (s *scene) driving(axis string) (Signal, error) {
	all := constant(1, s.from, s.until)
	for _, motor := range motorsOf(axis) {
		on, err := s.levels(channel.TorqueOn.Of(motor))
		if err != nil {
			return all, err
		}
		set, err := s.levels(channel.BrakeSet.Of(motor))
		if err != nil {
			return all, err
		}
		both := join(on.signal(s.from, s.until), set.signal(s.from, s.until),
			func(on, set float64) float64 { return on * (1 - set) })
		all = join(all, both, math.Min)
	}
	return all, nil
}

// soundUntil is the first instant at which something was broken, whatever it was, or a stop cause
// came that leaves the drives in doubt.
func (s *scene) soundUntil() time.Duration {
	harmless := []string{"emergency_stop", "access_opened", "mode_changed", "hand_released",
		"operator_stop", "pre_limit", "wind", "wind_data_invalid"}
	for _, m := range s.marks {
		switch {
		case m.kind == "cause" && !slices.Contains(harmless, m.name), m.kind == "fault":
			return m.at
		}
	}
	return s.until
}

// biasLack is by how much, at most, half the difference of an axis's motor torques misses the
// bias that the station wants, averaged over biasSpan.
func biasLack(s *scene, o occasion) (reading, error) {
	r := reading{from: o.from, until: o.until, at: o.from}
	bias, err := s.rules.Limits.value("<axis>.torque_bias", o.axis, "", quantity.DimTorque)
	motors := motorsOf(o.axis)
	if err != nil || len(motors) != 2 {
		return r, err
	}
	at, one, ok := s.trace.SamplesOf(channel.Torque.Of(motors[0]))
	_, two, both := s.trace.SamplesOf(channel.Torque.Of(motors[1]))
	if !ok || !both {
		return r, &MissingError{channel.Torque.Of(motors[0])}
	}
	first, _ := slices.BinarySearch(at, o.from)
	past, _ := slices.BinarySearch(at, o.until)
	for i := first; i < past; {
		sum, n := 0.0, 0
		begin := i
		for ; i < past && at[i] < at[begin]+biasSpan; i++ {
			sum += (one[i] - two[i]) / 2
			n++
		}
		if i == past {
			break // no whole span
		}
		if lack := math.Abs(sum/float64(n) - bias); lack > r.value {
			r.value, r.at = lack, at[begin]
		}
	}
	return r, nil
}
