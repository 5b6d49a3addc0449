package campaign

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/evidence"
	"haltmark/bench/record"
	"haltmark/bench/scenario"
	"haltmark/bench/seed"
	"haltmark/bench/verdict"
)

// A case.json is believed in nothing that a record could tell. Here it is held against what
// its records say.

// phases are those of a case, judged from their records or, where none is kept, taken from
// their figures. The records come first: by them it is known what the figures are of.
func (j *judge) phases(c *evidence.Case) ([]Phase, error) {
	all := make([]Phase, len(c.Phases))
	for _, kept := range []bool{true, false} {
		for i := range all {
			if c.Phases[i].Kept != kept {
				continue
			}
			var err error
			if kept {
				all[i], err = j.recorded(c, i)
			} else {
				all[i].Verdict = c.Phases[i].Verdict
				all[i].Outcomes, err = j.dropped(c, &c.Phases[i])
			}
			if err != nil {
				return nil, fmt.Errorf("phase %d: %w", i+1, err)
			}
		}
	}
	return all, nil
}

// recorded is a phase judged from its record, of which its case tells all.
func (j *judge) recorded(c *evidence.Case, i int) (Phase, error) {
	told := &c.Phases[i]
	ph := Phase{Kept: true}
	var err error
	if ph.Record, err = j.folder.Record(c, i); err != nil {
		return ph, err
	}
	if err = j.ofItsCase(c, ph.Record); err != nil {
		return ph, err
	}
	ph.Outcomes = Judge(ph.Record, j.rules)
	places := placesOf(c.Outcomes)
	for _, o := range ph.Outcomes {
		if _, known := places[o.Key()]; !known {
			return ph, fmt.Errorf("case.json tells nothing of %s, which its record asks: %s",
				o.Requirement, o.Text)
		}
	}
	ph.Verdict = merged(ph.Outcomes)
	if hasNote(c) { // it may be that of this phase
		ph.Verdict = verdict.Merge(ph.Verdict, told.Verdict)
	}
	if ph.Verdict != told.Verdict {
		return ph, fmt.Errorf("case.json says %v, its record %v", told.Verdict, ph.Verdict)
	}
	if !slices.EqualFunc(figures(ph.Outcomes, places), told.Figures, sameFigure) {
		return ph, errors.New("the figures in case.json are not those of its record")
	}
	return ph, nil
}

func sameFigure(a, b evidence.Figure) bool {
	return a.Of == b.Of && a.Axis == b.Axis && a.End == b.End && sameNumber(a.Value, b.Value) &&
		sameNumber(a.Margin, b.Margin)
}

func sameNumber(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

// dropped are the outcomes of a phase without a record, which has passed if what its
// figures say is true.
func (j *judge) dropped(c *evidence.Case, told *evidence.Phase) ([]verdict.Outcome, error) {
	if told.Verdict == verdict.Inconclusive && len(told.Figures) == 0 && hasNote(c) {
		return nil, nil // its world was never built
	}
	if told.Verdict != verdict.Pass {
		return nil, errors.New("it did not pass, and its record is not kept")
	}
	var all []verdict.Outcome
	next := 0
	for i := range c.Outcomes {
		o := &c.Outcomes[i]
		one := verdict.Outcome{Requirement: o.Requirement, Measure: o.Measure, Watch: o.Watch,
			Axis: o.Axis, End: o.End, Item: o.Item, Cause: o.Cause, Text: o.Text, Before: o.Before,
			Dimension: o.Dimension, Comparison: o.Comparison, Limit: o.Limit,
			Verdict: verdict.NotExercised}
		if next < len(told.Figures) && told.Figures[next].Of == i {
			f := told.Figures[next]
			next++
			if err := j.figure(&one, f); err != nil {
				return nil, fmt.Errorf("it misses %s by its figure, and its record is not kept: %w",
					o.Requirement, err)
			}
		} else if !o.Watch {
			continue // it did not ask
		}
		all = append(all, one)
	}
	return all, nil
}

// figure puts the figure of a phase into an outcome, and holds it against the limit.
func (j *judge) figure(o *verdict.Outcome, f evidence.Figure) error {
	o.Axis, o.End = f.Axis, f.End
	if o.Watch {
		q, known := j.rules.Requirement(o.Requirement)
		if !known {
			return errors.New("there is no such requirement")
		}
		var err error
		if o.Limit, err = j.rules.Limits.ResolveLimit(q, o.Axis, o.End); err != nil {
			return err
		}
	}
	margin := verdict.Margin(o.Comparison, o.End, f.Value, o.Limit)
	if !(margin >= 0) || margin != f.Margin {
		return fmt.Errorf("%g against %g leaves %g, not %g", f.Value, o.Limit, margin, f.Margin)
	}
	o.Value, o.Margin, o.Measured, o.Verdict = f.Value, margin, true, verdict.Pass
	return nil
}

// told holds that a case tells each outcome of its records as they have it, and no other.
func told(c *evidence.Case, fresh []verdict.Outcome) error {
	places := placesOf(c.Outcomes)
	for i := range fresh {
		o := &fresh[i]
		if what := different(&c.Outcomes[places[o.Key()]], o); what != "" {
			return fmt.Errorf("case.json tells of %s %s: %s", o.Requirement, what, o.Text)
		}
		delete(places, o.Key())
	}
	for i := range c.Outcomes {
		o := &c.Outcomes[i]
		if _, left := places[o.Key()]; left {
			return fmt.Errorf("case.json tells of %s what no record asks: %s", o.Requirement, o.Text)
		}
	}
	return nil
}

// different says in what an outcome as told is not the one of its records.
func different(told, fresh *verdict.Outcome) string {
	for _, n := range []struct {
		what        string
		told, fresh float64
	}{
		{"value", told.Value, fresh.Value}, {"limit", told.Limit, fresh.Limit},
		{"margin", told.Margin, fresh.Margin},
		{"uncertainty by timing", told.Uncertainty.Timing, fresh.Uncertainty.Timing},
	} {
		if !sameNumber(n.told, n.fresh) {
			return fmt.Sprintf("the %s %g, its records %g", n.what, n.told, n.fresh)
		}
	}
	if told.Verdict != fresh.Verdict {
		return fmt.Sprintf("that it is %v, its records %v", told.Verdict, fresh.Verdict)
	}
	a, b := *told, *fresh
	a.Reason, b.Reason = "", ""
	a.Value, a.Margin, a.Limit = b.Value, b.Margin, b.Limit // which may be no numbers
	if a.Uncertainty = b.Uncertainty; !reflect.DeepEqual(a, b) {
		return "another axis, instant, part of a stop or spread over phases than its records"
	}
	return ""
}

// toldSentences holds that each sentence has the verdict of what it asked.
func toldSentences(c *evidence.Case) error {
	for _, s := range c.Sentences {
		want := asked(s.Keyword, s.Text, c.Outcomes)
		if s.Note != "" {
			want = verdict.Merge(want, verdict.Inconclusive)
		}
		if s.Verdict != want {
			return fmt.Errorf("case.json says %v of line %d, its records %v: %s", s.Verdict, s.Line,
				want, s.Text)
		}
	}
	return nil
}

// ofItsFeature holds that a case is the example that its feature says: its sentences, and the
// seeds and shifts that follow from the run's seed.
func (j *judge) ofItsFeature(c *evidence.Case) error {
	p := &Plan{Corner: c.Corner}
	at := slices.IndexFunc(j.examples, func(e scenario.Example) bool {
		return e.Path == c.Path && e.Line == c.Line && p.named(&e) == c.Name
	})
	if at < 0 {
		return fmt.Errorf("no copied feature has %s:%d %s", c.Path, c.Line, c.Name)
	}
	e := &j.examples[at]
	if !slices.EqualFunc(e.Steps, c.Sentences, func(s scenario.Sentence, t evidence.Sentence) bool {
		return s.Keyword.String() == t.Keyword && s.Text == t.Text && s.Line == t.Line
	}) {
		return errors.New("the sentences in case.json are not those of its feature")
	}
	if seed.Seed(c.Seed) != exampleSeed(j.seed, e) {
		return errors.New("its seed does not follow from that of the run")
	}
	virtual := len(c.Phases)
	if j.wall {
		virtual--
	}
	if owed := j.plan.phasesOf(e); virtual != owed && (!j.wall || virtual > 0) &&
		c.Verdict != verdict.BenchFailed {
		return fmt.Errorf("it has %d phases, and the run owed it %d", virtual, owed)
	}
	shifts := phases(seed.Seed(c.Seed), virtual)
	for i, ph := range c.Phases {
		if seed.Seed(ph.Seed) != phaseSeed(seed.Seed(c.Seed), i) {
			return fmt.Errorf("the seed of phase %d does not follow from the scenario's", ph.Number)
		}
		if i < virtual && ph.Shift != time.Duration(shifts[i]*float64(e.Period(j.cycle))) {
			return fmt.Errorf("the shift of phase %d does not follow from its seed", ph.Number)
		}
	}
	return nil
}

// ofItsCase holds that a record is one of its case: it says the same sentences in the same
// order, as far as it came, and was made at the plant step of the run. The first When builds
// the world, whose record begins behind it.
func (j *judge) ofItsCase(c *evidence.Case, rec *record.Record) error {
	acts := slices.DeleteFunc(slices.Clone(c.Sentences), func(s evidence.Sentence) bool {
		return s.Keyword == scenario.Given.String()
	})
	next := 1
	for _, m := range rec.Marks {
		if m.Kind != record.Step ||
			m.Name != scenario.When.String() && m.Name != scenario.Then.String() {
			continue
		}
		if next >= len(acts) || acts[next].Text != m.Text {
			return fmt.Errorf("its record says %q, and the scenario does not say it there", m.Text)
		}
		next++
	}
	_, step, ok := rec.EdgesOf(channel.Step)
	if !ok || slices.ContainsFunc(step, func(v int64) bool { return v != int64(j.step) }) {
		return fmt.Errorf("its record was not made at a plant step of %v", j.step)
	}
	return nil
}
