package verdict

import (
	"fmt"
	"math"

	"haltmark/bench/channel"
	"haltmark/bench/quantity"
)

// stowedWithin is how far from the stow attitude elevation may rest, rad: a stow pin
// is cut to take up that much (common practice).
const stowedWithin = 0.2 * math.Pi / 180

// stowTime is how long the antenna takes to be stowed: elevation in its stow attitude,
// its brakes set, and no torque on any axis.
func stowTime(s *scene, o occasion) (reading, error) {
	start, err := s.start(o)
	if err != nil {
		return reading{}, err
	}
	r := reading{from: start, until: s.until, at: s.until, slope: 1}
	r.value = (s.until - start).Seconds()
	attitude, err := s.rules.Limits.value("stow.elevation", "", "", quantity.DimAngle)
	if err != nil {
		return r, err
	}
	const axis = "elevation"
	var every []string
	for _, a := range axesOf("") {
		every = append(every, motorsOf(a)...)
	}
	torque, err := s.on(every)
	if err != nil {
		return r, err
	}
	loose, err := s.brakeOpen(axis)
	if err != nil {
		return r, err
	}
	held := join(torque, loose, math.Max)
	last := len(held.At) - 1
	if held.Value[last] != 0 {
		r.open, r.note = true, "the antenna is not at rest on its brakes"
		return r, nil
	}
	at := max(held.At[last], start)
	where, err := s.at(channel.Position.Of(axis), s.until)
	if err != nil {
		return r, err
	}
	if math.Abs(where-attitude) > stowedWithin {
		r.broken, r.note = true, fmt.Sprintf("elevation rests at %v, not in its stow attitude of %v",
			quantity.Angle(where), quantity.Angle(attitude))
		return r, nil
	}
	if held.At[last] <= o.from {
		return r, &UnmetError{"the antenna was stowed when the cause came"}
	}
	r.value, r.at, r.until = (at - start).Seconds(), at, at
	return r, nil
}
