package verdict

import (
	"fmt"
	"iter"
	"math"
	"sort"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// Trace is what verdicts need of a record; the record of the bench gives it.
type Trace interface {
	// Span is the first and the last instant.
	Span() (from, until time.Duration)
	// EdgesOf are the changes of a discrete channel, in order of time.
	EdgesOf(channel string) (at []time.Duration, value []int64, ok bool)
	// SamplesOf are the samples of a channel, SI, in order of time.
	SamplesOf(channel string) (at []time.Duration, value []float64, ok bool)
	// ExtremesOf are least and greatest value of the intervals that end at at.
	ExtremesOf(channel string) (at []time.Duration, bounds [2][]float64, ok bool)
	// EachMark gives instant, then kind, name, axis and text.
	EachMark() iter.Seq2[time.Duration, [4]string]
}

// MissingError says that the record lacks a channel.
type MissingError struct{ Channel string }

func (e *MissingError) Error() string { return "no channel " + e.Channel }

// NotNumberError says that a channel has a sample that is no number.
type NotNumberError struct {
	Channel string
	At      time.Duration
}

func (e *NotNumberError) Error() string {
	return fmt.Sprintf("channel %s is not a number at %v", e.Channel, e.At)
}

// UnmetError says that what a measurement starts from never came about.
type UnmetError struct{ What string }

func (e *UnmetError) Error() string { return e.What }

// mark is an event of the record.
type mark struct {
	at               time.Duration
	kind, name, axis string
	text             string
}

// scene is a record under judgement, with the station's parameters.
type scene struct {
	trace       Trace
	rules       Rules
	marks       []mark
	from, until time.Duration
}

func newScene(trace Trace, rules Rules) *scene {
	s := &scene{trace: trace, rules: rules}
	s.from, s.until = trace.Span()
	for at, m := range trace.EachMark() {
		s.marks = append(s.marks, mark{at, m[0], m[1], m[2], m[3]})
	}
	sort.SliceStable(s.marks, func(i, k int) bool { return s.marks[i].at < s.marks[k].at })
	return s
}

// span looks up a parameter that is a time.
func (s *scene) span(path, axis string) (time.Duration, error) {
	v, err := s.rules.Limits.value(path, axis, "", quantity.DimSpan)
	return duration(v), err
}

func duration(seconds float64) time.Duration {
	return time.Duration(math.Round(seconds * float64(time.Second)))
}

// levels are the changes of one discrete channel.
type levels struct {
	at    []time.Duration
	value []int64
}

func (s *scene) levels(channel string) (levels, error) {
	at, value, ok := s.trace.EdgesOf(channel)
	if !ok {
		return levels{}, &MissingError{channel}
	}
	return levels{at, value}, nil
}

// after is the index of the first edge later than at.
func (l levels) after(at time.Duration) int {
	return sort.Search(len(l.at), func(i int) bool { return l.at[i] > at })
}

// level is the value at an instant, its own edge included; the first value holds
// before the first edge too.
func (l levels) level(at time.Duration) int64 {
	return l.value[max(0, l.after(at)-1)]
}

// next is the first edge to a value at an instant or later.
func (l levels) next(value int64, from time.Duration) (time.Duration, bool) {
	for i := l.after(from - 1); i < len(l.at); i++ {
		if l.value[i] == value {
			return l.at[i], true
		}
	}
	return 0, false
}

// rises are all edges to 1 in a window, both ends included. The first edge of a
// channel only tells its initial value.
func (l levels) rises(from, until time.Duration) []time.Duration {
	var all []time.Duration
	for i := max(1, l.after(from-1)); i < len(l.at) && l.at[i] <= until; i++ {
		if l.value[i] == 1 && l.value[i-1] != 1 {
			all = append(all, l.at[i])
		}
	}
	return all
}

// at is a channel's value at an instant, straight between its samples.
func (s *scene) at(channel string, when time.Duration) (float64, error) {
	at, value, ok := s.trace.SamplesOf(channel)
	if !ok || len(at) == 0 {
		return 0, &MissingError{channel}
	}
	i := sort.Search(len(at), func(i int) bool { return at[i] > when })
	var v float64
	switch {
	case i == 0:
		v = value[0]
	case i == len(at) || at[i-1] == when:
		v = value[i-1]
	default:
		share := float64(when-at[i-1]) / float64(at[i]-at[i-1])
		v = value[i-1] + float64(share*(value[i]-value[i-1]))
	}
	if math.IsNaN(v) {
		return 0, &NotNumberError{channel, when}
	}
	return v, nil
}

// bounds are least and greatest value of a channel in a window: at both ends, at
// the samples between and in the intervals that lie wholly inside.
func (s *scene) bounds(channel string, from, until time.Duration) (low, high float64, err error) {
	low, err = s.at(channel, from)
	if err != nil {
		return 0, 0, err
	}
	last, err := s.at(channel, until)
	if err != nil {
		return 0, 0, err
	}
	low, high = min(low, last), max(low, last)
	at, value, _ := s.trace.SamplesOf(channel)
	_, extremes, kept := s.trace.ExtremesOf(channel)
	for i := sort.Search(len(at), func(i int) bool { return at[i] >= from }); i < len(at); i++ {
		if at[i] > until {
			break
		}
		low, high = min(low, value[i]), max(high, value[i])
		if kept && i > 0 && at[i-1] >= from && !(extremes[0][i] > extremes[1][i]) {
			low, high = min(low, extremes[0][i]), max(high, extremes[1][i])
		}
		if math.IsNaN(low) || math.IsNaN(high) {
			return 0, 0, &NotNumberError{channel, at[i]}
		}
	}
	return low, high, nil
}

// motorsOf names the motors of an axis, of all axes for "".
func motorsOf(axis string) []string {
	var names []string
	for m, name := range plant.MotorNames {
		if axis == "" || plant.AxisNames[plant.MotorAxis[m]] == axis {
			names = append(names, name)
		}
	}
	return names
}

// axesOf names an axis, or all of them for "".
func axesOf(axis string) []string {
	if axis == "" {
		return plant.AxisNames[:]
	}
	return []string{axis}
}

// axisOf is the axis of a motor.
func axisOf(motor string) (string, bool) {
	for m, name := range plant.MotorNames {
		if name == motor {
			return plant.AxisNames[plant.MotorAxis[m]], true
		}
	}
	return "", false
}
