package campaign

import (
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"time"

	"haltmark/bench/evidence"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/scenario"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
)

// Evidence is the case as the folder keeps it.
func (p *Plan) Evidence(c *Case) evidence.Case {
	e := c.Example
	out := evidence.Case{
		Number: c.Number, Feature: e.Feature, Rule: e.Rule, Name: p.named(e), Path: e.Path,
		Line: e.Line, Tags: e.Tags, Corner: p.Corner, Seed: uint64(c.Seed), Verdict: c.Verdict,
		Reason: c.Reason, Simulated: c.Simulated, Outcomes: c.Outcomes, Worst: c.Worst,
	}
	out.Sentences = c.sentences()
	places := placesOf(out.Outcomes)
	for i := range c.Phases {
		out.Phases = append(out.Phases, phaseForm(i+1, &c.Phases[i], e.Period(p.Run.Cycle), places))
	}
	if c.Record != nil {
		out.Stops = p.stops(c.Record, c.Outcomes)
	}
	out.Plot = p.plotOf(c.Record, c.Outcomes)
	if out.Reason == "" && out.Verdict != verdict.Pass {
		out.Reason = firstReason(out.Outcomes, out.Verdict)
	}
	return out
}

func phaseForm(
	number int, ph *Phase, cycle time.Duration, places map[string]int,
) evidence.Phase {
	return evidence.Phase{
		Number: number, Seed: uint64(ph.Seed), Verdict: ph.Verdict, Kept: ph.Kept,
		Shift: time.Duration(ph.Shift * float64(cycle)), Hash: hex.EncodeToString(ph.Hash[:]),
		Figures: figures(ph.Outcomes, places),
	}
}

// placesOf finds outcomes by their keys.
func placesOf(outcomes []verdict.Outcome) map[string]int {
	places := make(map[string]int, len(outcomes))
	for i := range outcomes {
		places[outcomes[i].Key()] = i
	}
	return places
}

// figures are the values of a phase, in the order of the case's outcomes.
func figures(outcomes []verdict.Outcome, places map[string]int) []evidence.Figure {
	var all []evidence.Figure
	for _, o := range outcomes {
		if of, known := places[o.Key()]; known && o.Measured && o.Verdict != verdict.NotExercised {
			all = append(all, evidence.Figure{Of: of, Axis: o.Axis, End: o.End, Value: o.Value,
				Margin: o.Margin})
		}
	}
	slices.SortFunc(all, func(a, b evidence.Figure) int { return a.Of - b.Of })
	return all
}

// asked is the verdict of what a sentence asked. A Then that asked nothing, since its phase
// did not come so far, shows nothing; any other sentence passes.
func asked(keyword, text string, outcomes []verdict.Outcome) verdict.Verdict {
	v, asks := verdict.Pass, false
	for _, o := range outcomes {
		if !o.Watch && o.Text == text {
			v, asks = verdict.Merge(v, o.Verdict), true
		}
	}
	if !asks && keyword == scenario.Then.String() {
		return verdict.Inconclusive
	}
	return v
}

// sentences tells how far each sentence came, in the phase that is judged or, if
// another came less far, in that one; a Then has the verdict of what it asked.
func (c *Case) sentences() []evidence.Sentence {
	steps := c.Steps
	var undone error
	for i := range c.Phases {
		if c.Phases[i].Err != nil {
			steps, undone = c.Phases[i].result.Steps, c.Phases[i].Err
			break
		}
	}
	var out []evidence.Sentence
	noted := false
	for _, s := range c.Example.Steps {
		out = append(out, evidence.Sentence{Keyword: s.Keyword.String(), Text: s.Text, Line: s.Line,
			Verdict: asked(s.Keyword.String(), s.Text, c.Outcomes)})
	}
	for i, s := range steps {
		if s.Err != nil && i < len(out) {
			out[i].Verdict = verdict.Merge(out[i].Verdict, verdict.Inconclusive)
			out[i].Note = s.Err.Error()
			noted = true
		}
	}
	if undone != nil && !noted && len(out) > 0 {
		last := &out[len(out)-1]
		last.Verdict, last.Note = verdict.Merge(last.Verdict, verdict.Inconclusive), undone.Error()
	}
	return out
}

// firstReason words the first outcome that has the case's verdict.
func firstReason(outcomes []verdict.Outcome, v verdict.Verdict) string {
	for _, o := range outcomes {
		if o.Verdict == v {
			return Because(&o)
		}
	}
	return ""
}

// ofStop tells the outcomes that are figures of a stop: its time, its travel, and
// the travel beyond the switch that caused it.
func ofStop(o *verdict.Outcome) bool {
	switch o.Measure {
	case "stop_time", "stop_travel":
	case "overtravel":
		if o.Cause == "" {
			return false
		}
	default:
		return false
	}
	return o.Measured && !o.Watch && o.Axis != ""
}

// stops gathers the stops that were asked about: time and travel of one axis after
// one cause are the same stop.
func (p *Plan) stops(rec *record.Record, outcomes []verdict.Outcome) []evidence.Stop {
	var out []evidence.Stop
	type stop struct {
		axis, cause string
		at          time.Duration
	}
	places := map[stop]int{}
	for _, o := range outcomes {
		if !ofStop(&o) {
			continue
		}
		at := causeAt(rec, &o)
		i, known := places[stop{o.Axis, o.Cause, at}]
		if !known {
			i = len(out)
			places[stop{o.Axis, o.Cause, at}] = i
			by, _ := verdict.TorqueRemovedBy(rec, o.Axis, at)
			out = append(out, evidence.Stop{Axis: o.Axis, Cause: o.Cause, RemovedBy: by,
				Parts: verdict.Parts{Detected: verdict.NotSeen, Slowing: verdict.NotSeen,
					Standstill: verdict.NotSeen, LoadRest: verdict.NotSeen, BrakeSet: verdict.NotSeen,
					TorqueOff: verdict.NotSeen}})
		}
		if o.Measure != "stop_time" {
			out[i].Travel = o.Value
			if p.Derived != nil {
				out[i].Derived = p.Derived(o.Axis, o.Cause)
			}
		}
		if o.Parts != nil {
			out[i].Parts = *o.Parts
		}
	}
	return out
}

// causeAt is when the cause of an outcome came in a record, which may be another phase
// than the one whose value the outcome has: as often as the same was asked before, the cause
// had come before.
func causeAt(rec *record.Record, o *verdict.Outcome) time.Duration {
	at, before := o.From, o.Before
	for _, m := range rec.Marks {
		if m.Kind != record.Cause || m.Name != o.Cause || m.Axis != "" && m.Axis != o.Axis {
			continue
		}
		if at = m.At; before == 0 {
			break
		}
		before--
	}
	return at
}

// plotOf shows the axis that was asked about first, from shortly before until
// shortly after what was measured on it.
func (p *Plan) plotOf(rec *record.Record, outcomes []verdict.Outcome) evidence.Plot {
	const before, after = 2 * time.Second, 2 * time.Second
	plot := evidence.Plot{}
	for _, o := range outcomes {
		if o.Watch || o.Axis == "" || !o.Measured || plot.Axis != "" && o.Axis != plot.Axis {
			continue
		}
		if plot.Axis == "" {
			plot.Axis, plot.From = o.Axis, o.From
		}
		plot.From = min(plot.From, o.From)
		plot.Until = max(plot.Until, o.Until, o.At)
	}
	if plot.Axis == "" {
		plot.Axis = plant.AxisNames[plant.Azimuth]
	} else {
		plot.From, plot.Until = max(0, plot.From-before), plot.Until+after
	}
	if p.Chain != nil {
		plot.Chain = p.Chain(plot.Axis)
	}
	if plot.Chain != nil && rec != nil {
		moveChain(plot.Chain, plot.Axis, rec.Marks)
	}
	return plot
}

// moveChain moves the limits as the scenario had them moved; the software limit is
// the controller's own and stays.
func moveChain(chain *plant.LimitChain, axis string, marks []record.Mark) {
	for _, m := range marks {
		end, moved := strings.CutPrefix(m.Axis, axis+".")
		text, begins := strings.CutPrefix(m.Text, "begins, inward ")
		if m.Name != "limit_chain_shifted" || !moved || !begins {
			continue
		}
		by, err := quantity.ParseAngle(text)
		if err != nil {
			continue // the plot keeps the station's own chain
		}
		i := plant.Lower
		if end == plant.EndNames[plant.Upper] {
			i, by = plant.Upper, -by
		}
		for _, at := range []*[2]quantity.Angle{&chain.PreLimit, &chain.FinalLimit, &chain.Buffer,
			&chain.Structure} {
			at[i] += by
		}
	}
}

// chain finds the limit chain of a station's axis.
func (a *Assembly) chain(s *station.Parameters) func(string) *plant.LimitChain {
	return func(name string) *plant.LimitChain {
		axis, known := plant.AxisNamed(name)
		if !known || !axis.Main() {
			return nil
		}
		chain := s.Plant.Axes[axis].Limits
		return &chain
	}
}

// derivedTravel is the travel of a stop from full rate that follows from the
// station's figures, rad: of category 0 with both brakes, or along the ramp.
func (a *Assembly) derivedTravel(axis, cause string) float64 {
	stop, known := a.Requirements.Causes.Stop(cause)
	i := slices.Index(plant.AxisNames[:], axis)
	if !known || i < 0 || stop.CountedFrom == verdict.OverspeedRate || stop.SpeedUnknown {
		return 0 // nobody knows from which rate
	}
	if !plant.Axis(i).Main() {
		travel, _ := a.Station.Lookup(axis + ".derived.ramp_travel")
		return travel.Value
	}
	figures := a.Station.Figures(plant.Axis(i))
	if stop.Category == 0 {
		return float64(figures.CategoryZero[plant.BothBrakes].Travel)
	}
	return float64(figures.RampStop.Travel)
}

// Because says of an outcome that did not pass why.
func Because(o *verdict.Outcome) string {
	where := o.Axis
	if where == "" {
		where = "the station"
	}
	if !o.Measured {
		return fmt.Sprintf("%s on %s: %s", o.Requirement, where, o.Reason)
	}
	text := fmt.Sprintf("%s on %s: %s, limit %s, margin %s", o.Requirement, where,
		Value(o, o.Value), Value(o, o.Limit), Value(o, o.Margin))
	if o.Verdict == verdict.Inconclusive {
		text += ", uncertainty " + Value(o, o.Uncertainty.Expanded())
	}
	if o.Reason != "" {
		text += "; " + o.Reason
	}
	return text
}
