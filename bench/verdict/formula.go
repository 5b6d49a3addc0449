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

// Above is signal > limit.
func Above(s Signal, limit float64) Formula {
	return atom{s.each(func(v float64) float64 { return v - limit })}
}

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

// And is the conjunction, Or the disjunction.
func And(f, g Formula) Formula { return both{f, g, math.Min} }

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

// Eventually is the supremum of f over the window.
func Eventually(w Window, f Formula) Formula { return Not(Always(w, Not(f))) }

// Robustness slides a least value over the pieces: piece i counts at instant t
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

type until struct {
	w    Window
	f, g Formula
}

// Until is: g comes true in the window, and f holds before it. Its robustness
// is the supremum over t' of the lesser of g at t' and the infimum of f before.
func Until(w Window, f, g Formula) Formula { return until{w, f, g} }

// Robustness evaluates at the instants where it can change: those at which a
// window's end meets an edge. It is quadratic and meant for short windows.
func (u until) Robustness() Signal {
	f, g := u.f.Robustness(), u.g.Robustness()
	start := max(f.At[0], g.At[0])
	end := max(start, min(f.End, g.End)-u.w.From)
	edges := join(f, g, func(x, _ float64) float64 { return x })
	moments := append([]time.Duration{start}, mergedEdges(f, g)...)
	out := Signal{End: end}
	for _, t := range changeInstants(moments, u.w, start, end) {
		out.add(t, u.at(f, g, t, edges.End))
	}
	return out
}

// at is the robustness seen from one instant.
func (u until) at(f, g Signal, t, last time.Duration) float64 {
	best := math.Inf(-1)
	from, to := t+u.w.From, min(t+u.w.Until, last)
	for _, when := range append([]time.Duration{from}, mergedEdges(f, g)...) {
		if when < from || when > to {
			continue
		}
		best = math.Max(best, math.Min(g.at(when), infimum(f, t, when)))
	}
	return best
}

// infimum is the least value of a signal in [from, before).
func infimum(s Signal, from, before time.Duration) float64 {
	least := math.Inf(1)
	for i, at := range s.At {
		if at < before && (i+1 == len(s.At) || s.At[i+1] > from) && from < before {
			least = math.Min(least, s.Value[i])
		}
	}
	return least
}
