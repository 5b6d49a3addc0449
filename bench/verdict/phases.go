package verdict

import (
	"fmt"
	"math"
	"slices"
)

// Spread is how a value varied over the phases of its cause.
type Spread struct {
	Tried          int // phases with a value
	Worst          int // index of the worst phase
	Least          float64
	Greatest       float64
	Mean           float64
	Sigma          float64 // sample standard deviation; 0 for a single phase
	MeanPlus3Sigma float64
	Missed         int // phases that missed the limit by more than their timing
	// From and Until are the phase interval: least and greatest, widened by the
	// largest change between neighbouring phases.
	From, Until float64
}

// Phases joins the outcomes of the same scenario over its phases, given in order
// of their shift: for each sentence and watch the worst phase's outcome with the
// spread of all, asks before watches. An outcome that some phase lacks is inconclusive.
func Phases(results [][]Outcome) []Outcome {
	var keys []string
	groups := map[string][]Outcome{}
	places := map[string][]int{}
	for phase, outcomes := range results {
		for _, o := range outcomes {
			key := o.Key()
			if _, known := groups[key]; !known {
				keys = append(keys, key)
			}
			groups[key] = append(groups[key], o)
			places[key] = append(places[key], phase)
		}
	}
	var out []Outcome
	for _, key := range keys {
		joined := joinPhases(groups[key], places[key])
		if missing := len(results) - len(groups[key]); missing > 0 && joined.Verdict == Pass {
			joined.Verdict = Inconclusive
			joined.Reason = fmt.Sprintf("%d of %d phases did not ask for it",
				missing, len(results))
		}
		out = append(out, joined)
	}
	return AsksFirst(out) // a later phase may ask more
}

// AsksFirst puts outcomes of asks before those of watches, and leaves their order otherwise.
func AsksFirst(outcomes []Outcome) []Outcome {
	slices.SortStableFunc(outcomes, func(a, b Outcome) int {
		if a.Watch == b.Watch {
			return 0
		} else if b.Watch {
			return -1
		}
		return 1
	})
	return outcomes
}

func joinPhases(group []Outcome, places []int) Outcome {
	worst, place, occasions, missed := group[0], places[0], 0, 0
	var values []float64
	for i, o := range group {
		occasions += o.Occasions
		idle := worst.Verdict == NotExercised
		if o.Verdict != NotExercised && (idle || worse(o, worst)) {
			worst, place = o, places[i]
		}
		if o.Measured {
			values = append(values, o.Value)
		}
		if o.Verdict == Fail {
			missed++
		}
	}
	worst.Occasions = occasions
	if len(values) > 0 {
		spread := spreadOf(values)
		spread.Worst, spread.Missed = place, missed
		worst.Spread = &spread
	}
	return worst
}

// spreadOf describes values in order of their phase.
func spreadOf(values []float64) Spread {
	s := Spread{Tried: len(values), Least: values[0], Greatest: values[0]}
	sum, step := 0.0, 0.0
	for i, v := range values {
		s.Least, s.Greatest = min(s.Least, v), max(s.Greatest, v)
		sum += v
		if i > 0 {
			step = max(step, math.Abs(v-values[i-1]))
		}
	}
	s.Mean = sum / float64(len(values))
	squares := 0.0
	for _, v := range values {
		squares += float64((v - s.Mean) * (v - s.Mean))
	}
	if len(values) > 1 {
		s.Sigma = math.Sqrt(squares / float64(len(values)-1))
	}
	s.MeanPlus3Sigma = s.Mean + float64(3*s.Sigma)
	s.From, s.Until = s.Least-step, s.Greatest+step
	return s
}

// WithModel adds the uncertainty of the model to the joined outcomes: the
// difference between two runs of one phase, at the plant step and at double it.
// Where the second run has no such value, a pass becomes inconclusive; a watch that
// had no occasion there saw nothing of what is to be little, which is a value.
func WithModel(joined, single, double []Outcome) []Outcome {
	singles, doubles := byKey(single), byKey(double)
	out := append([]Outcome(nil), joined...)
	for i, o := range out {
		if !o.Measured {
			continue
		}
		one, two := singles[o.Key()], doubles[o.Key()]
		if o.Watch && o.Comparison == AtMost && two.Verdict == NotExercised {
			two.Measured, two.Value = true, 0
		}
		if one.Measured && !two.Measured {
			if o.Verdict == Pass {
				out[i] = o.unjudged(fmt.Errorf("no value at double the plant step"))
			}
			continue
		}
		if one.Measured {
			out[i] = o.Widened(math.Abs(one.Value - two.Value))
		}
	}
	return out
}

// Widened is the outcome with the uncertainty of its model, in its own unit,
// judged again. More uncertainty makes nothing pass, and no fail of every phase undecided.
func (o Outcome) Widened(model float64) Outcome {
	if !o.Measured {
		return o
	}
	was := o.Verdict
	o.Uncertainty.Model = model
	switch o = o.judged(); {
	case o.Verdict == Pass:
		o.Verdict = was
	case o.Spread != nil && o.Spread.Tried > 2 && o.Spread.Missed == o.Spread.Tried:
		o.Verdict = Fail // whatever the step's size does, no phase came inside
	}
	return o
}

func byKey(outcomes []Outcome) map[string]Outcome {
	found := map[string]Outcome{}
	for _, o := range outcomes {
		found[o.Key()] = o
	}
	return found
}

// Agrees reports whether a value of the wall clock lies inside the phase interval
// of the virtual one, widened by both expanded uncertainties.
func Agrees(wall, virtual Outcome) bool {
	if !wall.Measured || virtual.Spread == nil {
		return false
	}
	wide := wall.Uncertainty.Expanded() + virtual.Uncertainty.Expanded()
	return wall.Value >= virtual.Spread.From-wide && wall.Value <= virtual.Spread.Until+wide
}
