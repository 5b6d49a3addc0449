package verdict

import (
	"math"
	"time"
)

// Formula is a rule of signal temporal logic, evaluated by robustness: above
// zero satisfied, below violated, and its size is how far from the boundary
// (Fainekos and Pappas 2009; Donze and Maler 2010). It becomes a signal of its
// own: the robustness as seen from every instant.
//
// Windows reach forward and are cut at the end of the signals: a rule says what
// is true of what was recorded. Whoever needs the full window asks whether the
// record saw it.
type Formula interface {
	Robustness() Signal
}

// RobustnessAt is the robustness of a formula at an instant.
func RobustnessAt(f Formula, when time.Duration) float64 { return f.Robustness().at(when) }

type atom struct{ signal Signal }

func (a atom) Robustness() Signal { return a.signal }

// Below is signal < limit.
func Below(s Signal, limit float64) Formula {
	return atom{s.each(func(v float64) float64 { return limit - v })}
}

// Holds is a discrete signal: true where it is 1. It has no boundary to be near
// to, so its robustness is infinite either way.
func Holds(s Signal) Formula {
	return atom{s.each(func(v float64) float64 {
		if v == 1 {
			return math.Inf(1)
		}
		return math.Inf(-1)
	})}
}

type not struct{ f Formula }

func (n not) Robustness() Signal {
	return n.f.Robustness().each(func(v float64) float64 { return -v })
}

// Not is the negation.
func Not(f Formula) Formula { return not{f} }

type both struct {
	f, g Formula
	op   func(x, y float64) float64
}

func (b both) Robustness() Signal { return join(b.f.Robustness(), b.g.Robustness(), b.op) }

// Or is the disjunction.
func Or(f, g Formula) Formula { return both{f, g, math.Max} }

// Implies is: where f is true, g is.
func Implies(f, g Formula) Formula { return Or(Not(f), g) }

// Window is a span forward from an instant, both ends included.
type Window struct{ From, Until time.Duration }

type always struct {
	w Window
	f Formula
}

// Always is the infimum of f over the window.
func Always(w Window, f Formula) Formula { return always{w, f} }

// Robustness is a sliding-window minimum over the pieces: piece i counts at instant t
// when it reaches into [t+From, t+Until].
func (a always) Robustness() Signal {
	s := a.f.Robustness()
	start, end := s.At[0], max(s.At[0], s.End-a.w.From)
	out := Signal{End: end}
	var queue []int // candidates, values ascending
	next := 0
	for t := start; ; {
		for next < len(s.At) && s.At[next] <= t+a.w.Until {
			for len(queue) > 0 && s.Value[queue[len(queue)-1]] >= s.Value[next] {
				queue = queue[:len(queue)-1]
			}
			queue = append(queue, next)
			next++
		}
		for len(queue) > 1 && !s.reaches(queue[0], t+a.w.From, t+a.w.Until) {
			queue = queue[1:]
		}
		out.add(t, s.Value[queue[0]])
		after := end + 1
		if next < len(s.At) {
			after = min(after, s.At[next]-a.w.Until)
		}
		if len(queue) > 1 {
			after = min(after, s.pieceEnd(queue[0])-a.w.From)
		}
		if after > end {
			return out
		}
		t = max(after, t+1)
	}
}
