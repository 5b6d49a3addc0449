package verdict

import (
	"math"
	"time"

	"haltmark/bench/channel"
)

// cause is what the table of stop causes says of one (HAZARDS.md): its stop
// category, whether it is for every axis, and which parameters sum up to the
// time after which it must have been found.
type cause struct {
	name        string
	category    int  // 0, 1 or 2, on the axis of the cause
	everywhere  bool // stops every axis
	supervision []string
}

// causes is a table of constants.
var causes = [...]cause{
	{"emergency_stop", 1, true, nil},
	{"final_limit", 0, false, nil},
	{"isolator_opened", 0, false, nil},
	{"pre_limit", 2, false, nil},
	{"software_limit", 2, false, nil},
	{"encoder_lost", 1, false, []string{"controller.silence"}},
	{"encoder_doubted", 1, false,
		[]string{"disagreement.time", "controller.doubt_margin"}},
	{"drive_trip", 0, false, nil},
	{"drive_silent", 0, false, []string{"controller.silence"}},
	{"interlock_silent", 1, true, []string{"controller.silence"}},
	{"controller_silent", 1, true, []string{"interlock.watchdog"}},
	{"mode_changed", 1, true, nil},
	{"hand_released", 1, false, nil},
	{"access_opened", 1, true, nil},
	{"overspeed", 0, false, nil}, // found when the motors pass the overspeed rate
	{"runaway", 0, false, // a motor that will not obey, or does not tell how it turns
		[]string{"disagreement.time", "controller.doubt_margin"}},
	{"brake_feedback", 1, true, []string{"brake.feedback"}},
	{"operator_stop", 2, false, nil},
	{"supply_lost", 0, true, nil},
	{"supply_dip", 1, true, nil},             // for longer than the drives ride through
	{"wind", 1, true, []string{"wind.gust"}}, // a drive to the stow attitude comes first
	{"wind_doubtful", 1, true, []string{"mast.doubt"}},
}

func causeNamed(name string) (cause, bool) {
	for _, c := range causes {
		if c.name == name {
			return c, true
		}
	}
	return cause{}, false
}

// names tells whether a report of one cause names another: a motor out of control is
// found by its speed or by its own drive as well as by its partner's, and a dip looks
// like a loss as long as it lasts.
func names(told, cause string) bool {
	switch cause {
	case "runaway":
		return told == cause || told == "overspeed" || told == "drive_trip"
	case "supply_dip":
		return told == "supply_lost"
	}
	return told == cause
}

// StopsEveryAxis tells whether a stop cause stops more than the axis that it is on.
func StopsEveryAxis(name string) bool {
	c, _ := causeNamed(name)
	return c.everywhere
}

// CategoryOf is the stop category that a cause asks for on its axis; false for no cause.
func CategoryOf(name string) (int, bool) {
	c, known := causeNamed(name)
	return c.category, known
}

func knownCause(name string) bool {
	_, ok := causeNamed(name)
	return ok
}

// causeAxis is the axis of the mark that an occasion starts from, or its own.
func (s *scene) causeAxis(o occasion) string {
	for _, m := range s.marks {
		if m.kind == "cause" && m.at == o.from && m.name == o.cause && m.axis != "" {
			return m.axis
		}
	}
	return o.axis
}

// torqueStart is start for the removal of torque. When the interlock unit is lost
// the controller can still ramp, but only the unit can set the brakes and open its
// relay, so that its own watchdog counts (HAZARDS.md, controller silent to the
// interlock unit).
func (s *scene) torqueStart(o occasion) (time.Duration, error) {
	if o.cause != "interlock_silent" {
		return s.start(o)
	}
	watchdog, err := s.span("interlock.watchdog", "")
	return o.from + watchdog, err
}

// start is the instant from which an occasion is counted: the cause's true time
// and its supervision time.
func (s *scene) start(o occasion) (time.Duration, error) {
	c, known := causeNamed(o.cause)
	if !known {
		return o.from, nil
	}
	axis := s.causeAxis(o)
	if o.cause == "overspeed" {
		return s.overspeedFrom(axis, o.from)
	}
	start := o.from
	if o.cause == "encoder_doubted" {
		var err error
		if start, err = s.firstMotion(axis, o.from); err != nil {
			return 0, err
		}
	}
	for _, path := range c.supervision {
		d, err := s.span(path, axis)
		if err != nil {
			return 0, err
		}
		start += d
	}
	return start, nil
}

// firstMotion is the instant itself where an axis moves then, else that at which
// one first leaves standstill: a lie about position can only show in motion.
func (s *scene) firstMotion(axis string, from time.Duration) (time.Duration, error) {
	first := s.until
	for _, a := range axesOf(axis) {
		still, err := s.standstill(a)
		if err != nil {
			return 0, err
		}
		if still.level(from) == 0 {
			return from, nil
		}
		if at, ok := still.next(0, from); ok {
			first = min(first, at)
		}
	}
	return first, nil
}

// overspeedFrom is the first instant, from on, at which a motor of the axis turns
// faster than the overspeed rate.
func (s *scene) overspeedFrom(axis string, from time.Duration) (time.Duration, error) {
	first, found := s.until+1, false
	for _, a := range axesOf(axis) {
		limit, err := s.limits.value("<axis>.overspeed_rate", a, "")
		if err != nil {
			return 0, err
		}
		for _, motor := range motorsOf(a) {
			above, err := s.beyond(channel.Rate.Of(motor), limit)
			if err != nil {
				return 0, err
			}
			for i, at := range above.At {
				if above.Value[i] == 1 && above.pieceEnd(i) > from {
					first, found = min(first, max(at, from)), true
					break
				}
			}
		}
	}
	if !found {
		return 0, &UnmetError{"the overspeed rate was never passed"}
	}
	return first, nil
}

// beyond is 1 where the size of a channel is above a limit; between samples the
// channel is taken to go straight.
func (s *scene) beyond(name string, limit float64) (Signal, error) {
	at, value, ok := s.trace.SamplesOf(name)
	if !ok || len(at) == 0 {
		return Signal{}, &MissingError{name}
	}
	out := Signal{End: at[len(at)-1]}
	before := 0.0
	for i, v := range value {
		size := math.Abs(v)
		if math.IsNaN(v) {
			return Signal{}, &NotNumberError{name, at[i]}
		}
		level := 0.0
		if size > limit {
			level = 1
		}
		when := at[i]
		if i > 0 && (size > limit) != (before > limit) {
			share := (limit - before) / (size - before)
			when = at[i-1] + time.Duration(share*float64(at[i]-at[i-1]))
		}
		out.add(when, level)
		before = size
	}
	return out, nil
}

// fresh tells whether a mark is a command that may move an axis anew, or a wind that
// has the antenna stowed; axis "" asks about any.
func (m mark) fresh(axis string) bool {
	if m.kind == "cause" && (m.name == "wind" || m.name == "wind_doubtful") {
		return true
	}
	if m.kind != "command" || (axis != "" && m.axis != "" && m.axis != axis) {
		return false
	}
	return Moves(m.name)
}

// Moves tells the commands that may move an axis, by hand too.
func Moves(command string) bool {
	switch command {
	case "start", "position", "rate", "stow", "select", "hand":
		return true
	}
	return false
}

// nextFresh is the first fresh command to an axis later than an instant, or the
// end of the record.
func (s *scene) nextFresh(axis string, after time.Duration) time.Duration {
	for _, m := range s.marks {
		if m.at > after && m.fresh(axis) {
			return m.at
		}
	}
	return s.until
}
