package verdict

import (
	"fmt"
	"math"
	"slices"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/quantity"
)

// Cause is a stop cause, as the cause table tells it.
type Cause struct {
	Name  string // as marks, asks and reports give it
	Words string // in a message, such as "emergency stop"
	// Number is how the channel of the controller's first cause tells it; 0 is a cause
	// that no controller names.
	Number      int
	Category    int      // stop category 0, 1 or 2 on its own axis, or NoStop
	EveryAxis   bool     // stops every axis
	Latching    bool     // stays until it is reset
	CountedFrom string   // when it counts as come: "" at its mark, FirstMotion or OverspeedRate
	Supervision []string // parameters that sum up to the time within which it must be found
	ReportedAs  []string // causes whose report names it as well as its own
	Unmarked    bool     // no switch tells it, and no mark
	Stows       bool     // the antenna is stowed first
	// Uncontrolled tells that the motors no longer obey: a controller that says so may
	// have their brakes set at speed.
	Uncontrolled bool
	// SpeedUnknown tells that a motor no longer reports how fast it turns.
	SpeedUnknown bool
}

// NoStop is the category of a cause that a controller may name and no bench event marks.
const NoStop = -1

// What a cause counts from, where that is not its mark.
const (
	FirstMotion   = "first_motion"   // of its axis: before that nobody can see it
	OverspeedRate = "overspeed_rate" // a motor of its axis passes it
)

// Causes is the cause table.
type Causes []Cause

// Stop finds a cause of a stop; false for any other name.
func (c Causes) Stop(name string) (Cause, bool) {
	i := slices.IndexFunc(c, func(one Cause) bool {
		return one.Name == name && one.Category != NoStop
	})
	if i < 0 {
		return Cause{}, false
	}
	return c[i], true
}

// Number is how records tell a cause; 0 where no controller names it.
func (c Causes) Number(name string) int {
	i := slices.IndexFunc(c, func(one Cause) bool { return one.Name == name })
	if i < 0 {
		return 0
	}
	return c[i].Number
}

// latching reports whether a cause, by its number, stays until it is reset. A number that
// the table lacks does.
func (c Causes) latching(number int64) bool {
	i := slices.IndexFunc(c, func(one Cause) bool { return int64(one.Number) == number })
	return number != 0 && (i < 0 || c[i].Latching)
}

// Check finds what is wrong with the table, in its order.
func (c Causes) Check() []Flaw {
	var flaws []Flaw
	names, numbers := map[string]bool{}, map[int]bool{0: true}
	for i, one := range c {
		say := func(wrong bool, format string, args ...any) {
			if wrong {
				flaws = append(flaws, Flaw{i, "cause " + one.Name + " " + fmt.Sprintf(format, args...)})
			}
		}
		say(names[one.Name], "stands twice")
		say(one.Number != 0 && numbers[one.Number], "has the number %d of another", one.Number)
		say(one.Category < NoStop || one.Category > 2, "is of stop category %d; there are 0, 1 and 2",
			one.Category)
		say(!slices.Contains([]string{"", FirstMotion, OverspeedRate}, one.CountedFrom),
			"is counted from %q; there are %s and %s", one.CountedFrom, FirstMotion, OverspeedRate)
		for _, other := range one.ReportedAs {
			_, known := c.Stop(other)
			say(!known, "is reported as %q, which is no cause", other)
		}
		names[one.Name], numbers[one.Number] = true, true
	}
	return flaws
}

// reported reports whether a report names this cause.
func (c *Cause) reported(name string) bool {
	return name == c.Name || slices.Contains(c.ReportedAs, name)
}

// cause is what the table tells of a mark or an occasion.
func (s *scene) cause(name string) (Cause, bool) { return s.rules.Causes.Stop(name) }

// causeAxis is the axis of the mark that an occasion starts from, or its own.
func (s *scene) causeAxis(o occasion) string {
	for _, m := range s.marks {
		if m.kind == "cause" && m.at == o.from && m.name == o.cause && m.axis != "" {
			return m.axis
		}
	}
	return o.axis
}

// start is the instant from which an occasion is counted: the cause's true time and its
// supervision time, or that of the requirement.
func (s *scene) start(o occasion) (time.Duration, error) {
	c, known := s.cause(o.cause)
	if !known {
		return o.from, nil
	}
	axis, start := s.causeAxis(o), o.from
	var err error
	switch c.CountedFrom {
	case OverspeedRate:
		start, err = s.overspeedFrom(axis, o.from)
	case FirstMotion:
		start, err = s.firstMotion(axis, o.from)
	}
	if err != nil {
		return 0, err
	}
	supervision := c.Supervision
	if o.supervision != nil {
		supervision = o.supervision
	}
	for _, path := range supervision {
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
		limit, err := s.rules.Limits.value("<axis>.overspeed_rate", a, "", quantity.DimRate)
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

// fresh reports whether a mark is a command that may move an axis anew, or a cause that
// has the antenna stowed; axis "" asks about any.
func (s *scene) fresh(m mark, axis string) bool {
	if c, _ := s.cause(m.name); m.kind == "cause" && c.Stows {
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
		if m.at > after && s.fresh(m, axis) {
			return m.at
		}
	}
	return s.until
}
