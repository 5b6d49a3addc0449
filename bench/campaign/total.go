package campaign

import (
	"fmt"
	"slices"

	"haltmark/bench/evidence"
	"haltmark/bench/quantity"
	"haltmark/bench/verdict"
)

// Value formats a value of an outcome, in SI, in the trade's unit.
func Value(o *verdict.Outcome, si float64) string { return quantity.Format(o.Dimension, si) }

// Total is what cases add up to under a manifest: standings, waivers, verdict and
// exit code. It marks in the cases which are waived, and adds those that the manifest
// plans and that did not end.
func Total(
	m evidence.Manifest, rules verdict.Rules, cases []evidence.Case, waivers []verdict.Waiver,
) evidence.Run {
	cases = m.WithUnended(cases)
	run := evidence.Run{Manifest: m, Requirements: rules.Requirements, Hazards: rules.Hazards,
		Cases: cases, Waivers: waivers}
	var outcomes []verdict.Outcome
	tagged := map[string]bool{}
	for i := range cases {
		outcomes = append(outcomes, cases[i].Outcomes...)
		for _, tag := range cases[i].Tags {
			tagged[tag] = true
		}
	}
	var selected func(string) bool
	if m.Restricted() {
		selected = func(id string) bool { return tagged["@"+id] }
	}
	standings := verdict.Stand(rules.Requirements, outcomes, selected)
	run.Standings, run.Unused = verdict.Waive(standings, waivers, m.Date)
	run.ExitCode = verdict.Exit(run.Standings)
	for i := range cases {
		c := &cases[i]
		if c.Verdict.ExitCode() == verdict.ExitPass {
			continue
		}
		if c.Waived = waivedCase(c, run.Standings); c.Waived == "" {
			run.ExitCode = verdict.MergeExit(run.ExitCode, c.Verdict.ExitCode())
		}
	}
	run.Verdict = verdictOf(run.ExitCode)
	run.Reasons = reasons(&run)
	return run
}

// waivedCase is the reason why a case that came to nothing may stand: every
// requirement that its Rule is about is waived.
func waivedCase(c *evidence.Case, standings []verdict.Standing) string {
	if c.Unended || c.Verdict == verdict.Fail || c.Verdict == verdict.BenchFailed {
		return ""
	}
	reason := ""
	for i := range standings {
		st := &standings[i]
		if !slices.Contains(c.Tags, "@"+st.Requirement) {
			continue
		}
		if st.Waived == nil {
			return ""
		}
		reason = st.Waived.Reason
	}
	return reason
}

func verdictOf(code int) verdict.Verdict {
	switch code {
	case verdict.ExitPass:
		return verdict.Pass
	case verdict.ExitFail:
		return verdict.Fail
	case verdict.ExitInconclusive:
		return verdict.Inconclusive
	}
	return verdict.BenchFailed
}

// reasons lists why a run is not a pass, failures first, one line each.
func reasons(run *evidence.Run) []string {
	var failed, other []string
	for i := range run.Standings {
		st := &run.Standings[i]
		switch {
		case st.Waived != nil || st.Verdict.ExitCode() == verdict.ExitPass:
		case st.Verdict == verdict.Fail:
			failed = append(failed, Because(st.Worst)+cornerOf(run, st))
		case st.Worst != nil:
			other = append(other, Because(st.Worst)+cornerOf(run, st))
		default:
			other = append(other, st.Requirement+": "+st.Verdict.String())
		}
	}
	for i := range run.Cases {
		c := &run.Cases[i]
		if c.Waived == "" && (c.Verdict == verdict.BenchFailed || hasNote(c)) {
			other = append(other, fmt.Sprintf("%s:%d: %s: %s", c.Path, c.Line, c.Verdict, c.Reason))
		}
	}
	if line := Unended(run); line != "" {
		failed = append([]string{line}, failed...)
	}
	return append(failed, other...)
}

// cornerOf names the corner that a standing's worst outcome comes from.
func cornerOf(run *evidence.Run, st *verdict.Standing) string {
	if c := WorstCase(run, st); c != nil && c.Corner != "" {
		return "; at " + c.Corner
	}
	return ""
}

// Unended says how many of the planned scenarios ended; empty when all did.
func Unended(run *evidence.Run) string {
	if run.Ended() == len(run.Cases) {
		return ""
	}
	return fmt.Sprintf("%d of %d scenarios ended", run.Ended(), len(run.Cases))
}

// hasNote reports whether a sentence of the case could not be carried out.
func hasNote(c *evidence.Case) bool {
	return slices.ContainsFunc(c.Sentences, func(s evidence.Sentence) bool { return s.Note != "" })
}

// WorstCase finds the case that a standing's worst outcome comes from; nil when
// there is none.
func WorstCase(run *evidence.Run, st *verdict.Standing) *evidence.Case {
	if st.Worst == nil {
		return nil
	}
	for i := range run.Cases {
		for k := range run.Cases[i].Outcomes {
			o := &run.Cases[i].Outcomes[k]
			if o.Key() == st.Worst.Key() && o.Verdict == st.Worst.Verdict &&
				o.Value == st.Worst.Value && o.At == st.Worst.At && o.Spread == st.Worst.Spread {
				return &run.Cases[i]
			}
		}
	}
	return nil
}

// Manifest is what can be said of the campaign before its first run. The caller
// adds command, date, build and versions.
func (a *Assembly) Manifest(p *Plan, corners ...*Plan) evidence.Manifest {
	m := evidence.Manifest{
		Seed: uint64(p.Seed), Station: a.Station.Name(), Controller: a.Controller.Name,
		Defect: a.Defect, StandIn: a.StandIn(), Phases: p.Phases, Step: p.Step, Cycle: p.Run.Cycle,
		Clock: "virtual", Partial: a.Partial, Slice: p.Slice,
	}
	if p.Wall != nil {
		m.Clock = "wall"
	}
	for _, f := range a.Files() {
		m.Fixtures = append(m.Fixtures, evidence.Fixture{Name: f.Name, SHA256: f.SHA256})
	}
	m.Scenarios = p.PlannedWith(corners)
	for _, row := range a.Station.Parameters() {
		if row.Derived {
			continue
		}
		switch row.Origin {
		case quantity.Assumed:
			m.Origins.Assumed++
		case quantity.DataSheet:
			m.Origins.DataSheet++
		case quantity.MeasuredOnSite:
			m.Origins.MeasuredOnSite++
		}
	}
	return m
}

// planned is every example of the plan, as the manifest lists it.
func (p *Plan) planned() []evidence.Planned {
	wall := 0
	if p.Wall != nil {
		wall = 1
	}
	var all []evidence.Planned
	for i := range p.Examples {
		e := &p.Examples[i]
		all = append(all, evidence.Planned{Number: p.First + i + 1, Feature: e.Feature, Rule: e.Rule,
			Name: p.named(e), Path: e.Path, Line: e.Line, Tags: e.Tags, Corner: p.Corner,
			Seed: uint64(exampleSeed(p.Seed, e)), Phases: p.phasesOf(e) + wall})
	}
	return all
}
