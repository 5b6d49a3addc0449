package verdict

import (
	"sort"
	"time"
)

// Signal is a value over time: Value[i] holds from At[i] until At[i+1], the last
// until End, which is included. At is ascending.
type Signal struct {
	At    []time.Duration
	Value []float64
	End   time.Duration
}

// constant is one value over a domain.
func constant(value float64, from, end time.Duration) Signal {
	return Signal{[]time.Duration{from}, []float64{value}, end}
}

// at is the value at an instant of the domain.
func (s Signal) at(when time.Duration) float64 {
	i := sort.Search(len(s.At), func(i int) bool { return s.At[i] > when })
	return s.Value[max(0, i-1)]
}

// pieceEnd is the instant at which piece i ends.
func (s Signal) pieceEnd(i int) time.Duration {
	if i+1 < len(s.At) {
		return s.At[i+1]
	}
	return s.End
}

// next is the first instant in a window at which the signal has a value; its end where it
// never does.
func (s Signal) next(value float64, from, until time.Duration) time.Duration {
	if s.at(from) == value {
		return from
	}
	for i, at := range s.At {
		if at > from && at < until && s.Value[i] == value {
			return at
		}
	}
	return until
}

// add appends a piece; equal neighbours become one.
func (s *Signal) add(at time.Duration, value float64) {
	n := len(s.At)
	switch {
	case n > 0 && s.At[n-1] == at:
		s.Value[n-1] = value
	case n > 0 && s.Value[n-1] == value:
	default:
		s.At = append(s.At, at)
		s.Value = append(s.Value, value)
	}
}

// cut restricts a signal to a window inside its domain.
func (s Signal) cut(from, until time.Duration) Signal {
	out := constant(s.at(from), from, until)
	for i, at := range s.At {
		if at > from && at <= until {
			out.add(at, s.Value[i])
		}
	}
	return out
}

// join applies an operation to two signals, on the domain that both have.
func join(a, b Signal, op func(x, y float64) float64) Signal {
	from, end := max(a.At[0], b.At[0]), min(a.End, b.End)
	out := Signal{End: end}
	i := sort.Search(len(a.At), func(i int) bool { return a.At[i] > from }) - 1
	k := sort.Search(len(b.At), func(k int) bool { return b.At[k] > from }) - 1
	for at := from; ; {
		out.add(at, op(a.Value[i], b.Value[k]))
		nextA, nextB := end+1, end+1
		if i+1 < len(a.At) {
			nextA = a.At[i+1]
		}
		if k+1 < len(b.At) {
			nextB = b.At[k+1]
		}
		at = min(nextA, nextB)
		if at > end {
			return out
		}
		if nextA == at {
			i++
		}
		if nextB == at {
			k++
		}
	}
}

// each applies an operation to every value.
func (s Signal) each(op func(float64) float64) Signal {
	out := Signal{End: s.End}
	for i, at := range s.At {
		out.add(at, op(s.Value[i]))
	}
	return out
}

// reaches reports whether some instant of piece i lies in [from, until].
func (s Signal) reaches(i int, from, until time.Duration) bool {
	if s.At[i] > until {
		return false
	}
	if i+1 < len(s.At) {
		return s.At[i+1] > from
	}
	return s.End >= from
}
