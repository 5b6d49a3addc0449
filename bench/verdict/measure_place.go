package verdict

import (
	"math"
	"sort"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/quantity"
)

// outwardSign is +1 at the upper end, -1 at the lower.
func outwardSign(end string) float64 {
	if end == "lower" {
		return -1
	}
	return 1
}

// window closes an occasion: at the end that the scenario gave, else before the
// next fresh command.
func (s *scene) window(o occasion) time.Duration {
	if o.closed {
		return min(o.until, s.until)
	}
	return s.nextFresh(o.axis, o.from)
}

// outward is how far an axis gets outward from where it was.
func (s *scene) outward(o occasion, from, until time.Duration) (reading, error) {
	r, err := s.excursion(o.axis, from, until)
	if err != nil {
		return r, err
	}
	origin, err := s.at(channel.Position.Of(o.axis), from)
	if err != nil {
		return r, err
	}
	low, high, err := s.bounds(channel.Position.Of(o.axis), from, until)
	if r.value = high - origin; outwardSign(o.end) < 0 {
		r.value = origin - low
	}
	return r, err
}

// overtravel is how far an axis gets past the place at which the contact of a
// layer came: pre_limit, final_limit or buffer.
func overtravel(s *scene, o occasion) (reading, error) {
	layer := channel.Switch(o.item).At(o.axis, o.end)
	contact, err := s.levels(layer)
	if err != nil {
		return reading{}, err
	}
	rises := contact.rises(o.from, s.until)
	if len(rises) == 0 {
		return reading{}, &UnmetError{layer + " never came"}
	}
	end, rests, err := s.stopEnd(o.axis, rises[0])
	if err != nil {
		return reading{}, err
	}
	r, err := s.outward(o, rises[0], end)
	r.open = !rests
	return r, err
}

// nextRest is the first standstill after a motion that is on at an instant or
// comes after it; rests is false when the record ends before.
func (s *scene) nextRest(
	axis string, from time.Duration,
) (at time.Duration, rests bool, err error) {
	still, err := s.standstill(axis)
	if err != nil {
		return 0, false, err
	}
	moving := from
	if still.level(moving) == 1 {
		starts, ok := still.next(0, moving)
		if !ok {
			return 0, false, &UnmetError{axis + " never moved"}
		}
		moving = starts
	}
	if at, rests = still.next(1, moving); !rests {
		at = s.until
	}
	return at, rests, nil
}

// moveTravel is the peak excursion of an axis from where it was to the end of the
// record or the next command, ring-down included. A rest on the way, such as when
// the brakes have let go, ends nothing.
func moveTravel(s *scene, o occasion) (reading, error) {
	if _, _, err := s.nextRest(o.axis, o.from); err != nil {
		return reading{}, err
	}
	still, err := s.standstill(o.axis)
	if err != nil {
		return reading{}, err
	}
	until := s.until
	if o.closed {
		until = min(o.until, s.until)
	}
	r, err := s.excursion(o.axis, o.from, until)
	r.open = still.level(until) != 1
	return r, err
}

// restInside is the farthest place of an axis towards an end from its first rest
// after a motion until it is commanded again.
func restInside(s *scene, o occasion) (reading, error) {
	rest, ok, err := s.nextRest(o.axis, o.from)
	if err != nil {
		return reading{}, err
	}
	until := s.nextFresh(o.axis, rest)
	low, high, err := s.bounds(channel.Position.Of(o.axis), rest, until)
	r := reading{value: high, at: rest, from: rest, until: until, open: !ok}
	if outwardSign(o.end) < 0 {
		r.value = low
	}
	return r, err
}

// stayed is how far an axis got from where it was.
func stayed(s *scene, o occasion) (reading, error) {
	return s.excursion(o.axis, o.from, s.window(o))
}

// inwardOnly is how far an axis got outward.
func inwardOnly(s *scene, o occasion) (reading, error) {
	return s.outward(o, o.from, s.window(o))
}

// rateSpan is the span over which a slow rate is taken, and settling what is left
// out after the axis left standstill: the brakes let go there, and the load takes
// up the gear's backlash and spring, which no control of the rate can hold.
const (
	rateSpan = time.Second
	settling = 500 * time.Millisecond
)

// inwardRate is the greatest rate of an axis over a second under torque, in a window
// in which it moved inward at all. What wind and springs do with an axis whose torque
// is gone is nobody's rate.
func inwardRate(s *scene, o occasion) (reading, error) {
	until := s.window(o)
	r := reading{from: o.from, until: until}
	inward := o
	if inward.end = "upper"; o.end == "upper" {
		inward.end = "lower"
	}
	moved, err := s.outward(inward, o.from, until)
	if err != nil {
		return r, err
	}
	lost, err := s.rules.Limits.value("<axis>.lost_motion", o.axis, "", quantity.DimAngle)
	if err != nil {
		return r, err
	}
	if moved.value <= lost {
		return r, &UnmetError{o.axis + " did not move inward"}
	}
	return sustainedRate(s, o)
}

// sustainedRate is the greatest rate of an axis over a second under torque, in a window in which
// it moved.
func sustainedRate(s *scene, o occasion) (reading, error) {
	r := reading{from: o.from, until: s.window(o)}
	still, err := s.standstill(o.axis)
	if err != nil {
		return r, err
	}
	if still.level(o.from) == 1 {
		left, ok := still.next(0, o.from)
		if !ok {
			return r, &UnmetError{o.axis + " never left standstill"}
		}
		r.from = left + settling
	}
	return s.greatestRate(o.axis, r, o.limit)
}

// greatestRate is the greatest rate over rateSpan under torque in the window of a reading.
// Torque that ends earlier leaves what was gone by then: too much even so, or nothing that
// could be judged.
func (s *scene) greatestRate(axis string, r reading, limit float64) (reading, error) {
	at, _, _ := s.trace.SamplesOf(channel.Position.Of(axis))
	first := sort.Search(len(at), func(i int) bool { return at[i] >= r.from })
	if first == len(at) || at[first]+rateSpan > r.until {
		return r, &UnmetError{axis + " did not move for long enough"}
	}
	on, err := s.on(motorsOf(axis))
	if err != nil {
		return r, err
	}
	tried := false
	for i := first; i < len(at) && at[i]+rateSpan <= r.until; i++ {
		whole := at[i] + rateSpan
		end := on.next(0, at[i], whole)
		tried = tried || end == whole && on.at(whole) == 1
		a, errA := s.at(channel.Position.Of(axis), at[i])
		b, errB := s.at(channel.Position.Of(axis), end)
		if errA != nil || errB != nil {
			return r, &NotNumberError{channel.Position.Of(axis), at[i]}
		}
		if rate := math.Abs(b-a) / rateSpan.Seconds(); rate > r.value {
			r.value, r.at = rate, at[i]
		}
	}
	if !tried && r.value <= limit {
		return r, &UnmetError{axis + " did not move under torque for long enough"}
	}
	return r, nil
}

// peakRate is the greatest rate of an axis in a window.
func peakRate(s *scene, o occasion) (reading, error) {
	until := s.window(o)
	low, high, err := s.bounds(channel.Rate.Of(o.axis), o.from, until)
	return reading{value: max(high, -low), at: until, from: o.from, until: until}, err
}

// rateLost is the most that the rate of an axis falls below what it was at the start of an
// occasion, in the sense in which it moved then.
func rateLost(s *scene, o occasion) (reading, error) {
	r := reading{from: o.from, until: o.until, at: o.from}
	before, err := s.at(channel.Rate.Of(o.axis), o.from)
	if err != nil {
		return r, err
	}
	if math.Abs(before) <= o.limit {
		return r, &UnmetError{o.axis + " was not moving"}
	}
	low, high, err := s.bounds(channel.Rate.Of(o.axis), o.from, o.until)
	if r.value = before - low; before < 0 {
		r.value = high - before
	}
	return r, err
}
