package verdict

import (
	"math"
	"strings"
	"time"

	"haltmark/bench/channel"
)

// reportTime is how long the supervisory system waits to be told the cause by its
// right name.
func reportTime(s *scene, o occasion) (reading, error) {
	start, err := s.start(o)
	if err != nil {
		return reading{}, err
	}
	cause, known := s.cause(o.cause)
	if !known {
		cause.Name = o.cause
	}
	var others []string
	for _, m := range s.marks {
		if m.kind != "report" || m.at < o.from {
			continue
		}
		if cause.reported(m.name) {
			return reading{value: (m.at - start).Seconds(), at: m.at, from: start,
				until: m.at, slope: 1}, nil
		}
		others = append(others, m.name)
	}
	note := "nothing was told"
	if len(others) > 0 {
		note = "told of " + strings.Join(others, ", ") + " instead"
	}
	return reading{value: (s.until - start).Seconds(), at: s.until, from: start,
		until: s.until, slope: 1, open: true, note: note}, nil
}

// flagTime is how long a discrete channel takes to come.
func flagTime(s *scene, o occasion) (reading, error) {
	flag, err := s.levels(o.item)
	if err != nil {
		return reading{}, err
	}
	at, ok := flag.next(1, o.from)
	if flag.level(o.from) == 1 {
		at, ok = o.from, true
	}
	if !ok {
		at = s.until
	}
	return reading{value: (at - o.from).Seconds(), at: at, from: o.from, until: at,
		slope: 1, open: !ok}, nil
}

// torqueStaysOff is the time in a window during which torque was on.
func torqueStaysOff(s *scene, o occasion) (reading, error) {
	until := s.window(o)
	if !o.closed {
		until = s.until
	}
	on, err := s.on(motorsOf(o.axis))
	if err != nil {
		return reading{}, err
	}
	return spent(on.cut(o.from, max(until, o.from))), nil
}

// enableStaysOff is the time in a window during which the controller asked for the enable of an
// axis or the release of its brakes, whatever else kept the torque off.
func enableStaysOff(s *scene, o occasion) (reading, error) {
	asked := []string{channel.Enable.To(o.axis)}
	for _, motor := range motorsOf(o.axis) {
		asked = append(asked, channel.BrakeRelease.To(motor))
	}
	on := constant(0, s.from, s.until)
	for _, name := range asked {
		one, err := s.levels(name)
		if err != nil {
			return reading{}, err
		}
		on = join(on, one.signal(s.from, s.until), math.Max)
	}
	return spent(on.cut(o.from, max(s.window(o), o.from))), nil
}

// torqueStaysOn is the time in a window during which a motor of an axis lacks torque.
func torqueStaysOn(s *scene, o occasion) (reading, error) {
	until := s.window(o)
	lacks := constant(0, s.from, s.until)
	for _, motor := range motorsOf(o.axis) {
		on, err := s.levels(channel.TorqueOn.Of(motor))
		if err != nil {
			return reading{}, err
		}
		if on.level(o.from) == 0 {
			return reading{}, &UnmetError{motor + " had no torque to keep"}
		}
		off := on.signal(s.from, s.until).each(func(v float64) float64 { return 1 - v })
		lacks = join(lacks, off, math.Max)
	}
	return spent(lacks.cut(o.from, max(until, o.from))), nil
}

// spent is the time that a signal is 1, and where it first was.
func spent(on Signal) reading {
	r := reading{from: on.At[0], until: on.End, at: on.End, slope: 1}
	for i, v := range on.Value {
		if v == 1 {
			r.value += (on.pieceEnd(i) - on.At[i]).Seconds()
			r.at = min(r.at, on.At[i])
		}
	}
	if r.value == 0 {
		r.slope = 0
	}
	return r
}

// refused counts what a refused command changed: the controller's state, the
// relay, the motion of any axis.
func refused(s *scene, o occasion) (reading, error) {
	until := s.window(o)
	r := reading{from: o.from, until: until, at: until}
	state, err := s.levels(channel.ControllerState)
	if err != nil {
		return r, err
	}
	count := func(at time.Duration) {
		if at > o.from && at <= until {
			r.value++
			r.at = min(r.at, at)
		}
	}
	for i, at := range state.at {
		if i > 0 {
			count(at)
		}
	}
	relay, err := s.levels(channel.RelayDelayed)
	if err != nil {
		return r, err
	}
	for _, at := range relay.rises(o.from, until) {
		count(at)
	}
	for _, axis := range axesOf("") {
		still, err := s.standstill(axis)
		if err != nil {
			return r, err
		}
		for i, at := range still.at {
			if i > 0 && still.value[i] == 0 {
				count(at)
			}
		}
	}
	return r, nil
}

// firstMotions are the instants at which an axis leaves standstill with torque
// on, for the first time since no motor had any.
func firstMotions(s *scene, _ Requirement) ([]occasion, error) {
	on, err := s.on(motorsOf(""))
	if err != nil {
		return nil, err
	}
	var found []occasion
	for i, v := range on.Value {
		if v != 1 || i == 0 {
			continue
		}
		first := occasion{from: on.pieceEnd(i) + 1}
		for _, axis := range axesOf("") {
			still, err := s.standstill(axis)
			if err != nil {
				return nil, err
			}
			if at, ok := still.next(0, on.At[i]); ok && at < first.from {
				first = occasion{axis: axis, from: at}
			}
		}
		if first.axis != "" {
			found = append(found, first)
		}
	}
	return found, nil
}

// hornBefore is the longest that the horn sounded without a break before an axis
// moved, no longer ago than the arming lasts before torque came.
func hornBefore(s *scene, o occasion) (reading, error) {
	horn, err := s.levels(channel.Horn)
	if err != nil {
		return reading{}, err
	}
	on, err := s.on(motorsOf(""))
	if err != nil {
		return reading{}, err
	}
	moves, powered := o.from, s.from
	if still, err := s.standstill(o.axis); err != nil {
		return reading{}, err
	} else if still.level(moves) == 1 { // asked before the motion
		at, ok := still.next(0, moves)
		if !ok {
			return reading{}, &UnmetError{o.axis + " never moved"}
		}
		moves = at
	}
	for i, at := range on.At {
		if on.Value[i] == 1 && at <= moves {
			powered = at
		}
	}
	length, err := s.span("controller.horn", "")
	if err != nil {
		return reading{}, err
	}
	lapse, err := s.span("controller.armed_window", "")
	if err != nil {
		return reading{}, err
	}
	sound := horn.signal(s.from, s.until).cut(max(s.from, powered-length-lapse), moves)
	r := reading{from: sound.At[0], until: moves, at: moves, slope: 1}
	for i, v := range sound.Value {
		if v == 1 {
			r.value = max(r.value, (sound.pieceEnd(i) - sound.At[i]).Seconds())
		}
	}
	return r, nil
}

// setOut is how long after its last command an axis at standstill leaves it.
func setOut(s *scene, o occasion) (reading, error) {
	still, err := s.standstill(o.axis)
	if err != nil {
		return reading{}, err
	}
	commanded := NotSeen
	for _, m := range s.marks {
		if m.kind == "command" && m.axis == o.axis && m.at >= o.from && m.at < o.until {
			commanded = m.at
		}
	}
	if commanded == NotSeen || still.level(commanded) == 0 {
		return reading{}, &UnmetError{o.axis + " was not commanded from standstill"}
	}
	r := reading{from: commanded, until: o.until, at: o.until, slope: 1}
	at, ok := still.next(0, commanded)
	if !ok || at > o.until {
		r.value, r.open = (o.until - commanded).Seconds(), true
		r.note = o.axis + " has not set out"
		return r, nil
	}
	r.value, r.at, r.until = (at - commanded).Seconds(), at, at
	return r, nil
}
