package campaign

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"haltmark/bench/config"
	"haltmark/bench/evidence"
	"haltmark/bench/scenario"
	"haltmark/bench/seed"
	"haltmark/bench/verdict"
)

// Rejudge judges a finished run anew from its folder alone: from the copies of
// station and requirements and from the records. What the folder tells must be what its
// records say. Of phases whose record is not kept, since they passed and no worst value comes
// from them, the figures stand in. The uncertainty by model is the run's own: the run at
// double the plant step leaves none but the difference. Its error is a BadInput: the folder
// is at fault.
func Rejudge(dir string) (*evidence.Folder, evidence.Run, error) {
	f, run, err := rejudge(dir)
	if err != nil {
		return nil, run, BadInput(strings.Split(err.Error(), "\n"))
	}
	return f, run, nil
}

func rejudge(dir string) (*evidence.Folder, evidence.Run, error) {
	f, err := evidence.Open(dir)
	if err != nil {
		return nil, evidence.Run{}, err
	}
	m := f.Manifest()
	sealed := f.CheckSeal()
	if sealed != nil && !errors.Is(sealed, evidence.ErrUnsealed) {
		return nil, evidence.Run{}, sealed
	}
	st, set, waivers, err := copiesOf(f)
	if err != nil {
		return nil, evidence.Run{}, err
	}
	a := &Assembly{Station: st, Requirements: set}
	parameters := st.Station()
	examples, lacks, err := applicableIn(f, set, &parameters)
	if err != nil {
		return nil, evidence.Run{}, err
	}
	rules := lacks.from(set.For(st))
	j := &judge{folder: f, rules: rules, assembly: a,
		plan: &Plan{Chain: a.chain(&parameters), Phases: m.Phases,
			Full: slices.Contains(m.CommandLine, FullFlag)}, wall: m.Clock == "wall", cycle: m.Cycle,
		step: m.Step, seed: seed.Seed(m.Seed), examples: examples}
	cases, err := f.Cases()
	if err != nil {
		return nil, evidence.Run{}, err
	}
	for i := range cases {
		if err := j.judge(&cases[i]); err != nil {
			return nil, evidence.Run{}, fmt.Errorf("%s: %w",
				f.CaseDir(cases[i].Number, cases[i].Name), err)
		}
	}
	run := Total(m, rules, cases, waivers)
	run.Coverage, run.Inapplicable = Coverage(set, run.Cases), lacks.lines()
	if sealed != nil {
		leaveOpen(&run, fmt.Sprintf("%s: %v", f.Path(), sealed))
	}
	return f, run, nil
}

// leaveOpen keeps a run from passing, since its folder is in doubt.
func leaveOpen(run *evidence.Run, why ...string) {
	run.ExitCode = verdict.MergeExit(run.ExitCode, verdict.ExitInconclusive)
	run.Verdict = verdictOf(run.ExitCode)
	run.Doubts = why
	run.Reasons = append(slices.Clone(why), run.Reasons...)
}

// copiesOf loads what a folder keeps of what went into its run.
func copiesOf(f *evidence.Folder) (
	*config.Station, *config.Requirements, []verdict.Waiver, error,
) {
	m := f.Manifest()
	if len(m.Scenarios) == 0 {
		return nil, nil, nil, BadInput{f.Path() + ": its manifest.json plans no scenarios"}
	}
	if err := checkCopies(f.Path(), m.Fixtures); err != nil {
		return nil, nil, nil, err
	}
	st, set, err := loadCopies(f.Path())
	if err != nil {
		return nil, nil, nil, err
	}
	if st.Name() != m.Station {
		return nil, nil, nil, BadInput{fmt.Sprintf("%s: its manifest.json names station %s, its copy "+
			"is %s", f.Path(), m.Station, st.Name())}
	}
	waivers, err := waiverCopy(f.Path())
	return st, set, waivers, err
}

// judge is a folder being judged.
type judge struct {
	folder *evidence.Folder
	rules  verdict.Rules
	plan   *Plan // as far as it is needed

	assembly *Assembly
	wall     bool // the last phase of each case is on the wall clock
	cycle    time.Duration
	step     time.Duration // of the plant
	seed     seed.Seed     // of the run
	examples []scenario.Example
}

// judge judges one case anew, in place.
func (j *judge) judge(c *evidence.Case) error {
	if c.Verdict == verdict.BenchFailed {
		return nil // there is nothing to judge it by
	}
	if err := j.ofItsFeature(c); err != nil {
		return err
	}
	phases, err := j.phases(c)
	if err != nil {
		return err
	}
	fresh, v, err := j.total(c, phases)
	if err != nil {
		return err
	}
	if err := told(c, fresh); err != nil {
		return err
	}
	c.Outcomes = fresh
	if err := toldSentences(c); err != nil {
		return err
	}
	open := slices.ContainsFunc(c.Sentences, func(s evidence.Sentence) bool {
		return s.Verdict == verdict.Inconclusive
	})
	virtualOpen := j.wall && c.Verdict == verdict.Inconclusive // as the runs in virtual time may be
	if open || hasNote(c) || virtualOpen {
		v = verdict.Merge(v, verdict.Inconclusive)
	} else if c.Reason = ""; v != verdict.Pass {
		c.Reason = firstReason(c.Outcomes, v)
	}
	if c.Verdict != v {
		return fmt.Errorf("case.json says %v, its records %v", c.Verdict, v)
	}
	if rec := phases[c.Worst].Record; rec != nil {
		if j.plan.Derived, err = j.assembly.cornerTravel(c.Corner); err != nil {
			return err
		}
		c.Stops = j.plan.stops(rec, c.Outcomes)
	}
	return nil
}

// total is what the phases of a case add up to, with what only its runs at double the plant
// step could say: the model's uncertainty, and that a value is left open.
func (j *judge) total(
	c *evidence.Case, phases []Phase,
) ([]verdict.Outcome, verdict.Verdict, error) {
	virtual := len(phases)
	if j.wall {
		virtual--
	}
	all := make([][]verdict.Outcome, virtual)
	verdicts := make([]verdict.Verdict, virtual)
	for i := range all {
		all[i], verdicts[i] = phases[i].Outcomes, phases[i].Verdict
	}
	fresh := verdict.Phases(all)
	for i := range fresh {
		if s := fresh[i].Spread; s != nil && !phases[s.Worst].Kept {
			return nil, 0, fmt.Errorf("the worst value of %s is that of phase %d, whose record is not "+
				"kept: %s", fresh[i].Requirement, s.Worst+1, fresh[i].Text)
		}
	}
	fresh = withTold(fresh, c.Outcomes)
	v := merged(fresh)
	place := len(phases) - 1
	if j.wall {
		fresh = leftOpen(onWall(&phases[place], fresh, j.cycle), c.Outcomes)
		v = verdict.Merge(v, merged(fresh))
	} else {
		place = worst(verdicts, all)
	}
	if place != c.Worst {
		return nil, 0, fmt.Errorf("case.json takes phase %d for the worst, its records phase %d",
			c.Worst+1, place+1)
	}
	return fresh, v, nil
}

// withTold adds to fresh outcomes what a case tells of its model.
func withTold(fresh, told []verdict.Outcome) []verdict.Outcome {
	places := placesOf(told)
	out := slices.Clone(fresh)
	for i := range out {
		if place, known := places[out[i].Key()]; known {
			out[i] = out[i].Widened(told[place].Uncertainty.Model)
		}
	}
	return leftOpen(out, told)
}

// leftOpen takes over from a case what only all of its runs could say: that something is left
// open although its records pass it, and how often a watch had occasion.
func leftOpen(fresh, told []verdict.Outcome) []verdict.Outcome {
	places := placesOf(told)
	out := slices.Clone(fresh)
	for i := range out {
		place, known := places[out[i].Key()]
		if !known {
			continue
		}
		old := &told[place]
		if out[i].Verdict == verdict.Pass && old.Verdict == verdict.Inconclusive {
			out[i].Verdict, out[i].Reason = old.Verdict, old.Reason
		}
		if out[i].Watch {
			out[i].Occasions = max(out[i].Occasions, old.Occasions) // dropped phases had some too
		}
	}
	return out
}
