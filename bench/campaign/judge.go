package campaign

import (
	"fmt"
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/evidence"
	"haltmark/bench/record"
	"haltmark/bench/seed"
	"haltmark/bench/verdict"
)

// Rejudge judges a finished run anew from its folder alone: from the copies of
// station and requirements and from the records. Where a phase left no record,
// since it passed and was not the worst, its figures stand in, held against the
// limits again. The uncertainty by model is the run's own: the run at double the
// plant step leaves none but the difference. Its error is a BadInput: the folder is at
// fault.
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
	st, set, waivers, err := copiesOf(f)
	if err != nil {
		return nil, evidence.Run{}, err
	}
	a := &Assembly{Station: st, Requirements: set}
	parameters := st.Station()
	rules := set.For(st)
	j := &judge{folder: f, rules: rules, assembly: a,
		plan: &Plan{Chain: a.chain(&parameters)}, wall: m.Clock == "wall"}
	cases, err := f.Cases()
	if err != nil {
		return nil, evidence.Run{}, err
	}
	for i := range cases {
		if err := j.judge(&cases[i]); err != nil {
			return nil, evidence.Run{}, fmt.Errorf("%s:%d: %w", cases[i].Path, cases[i].Line, err)
		}
	}
	return f, Total(m, rules, cases, waivers), nil
}

// copiesOf loads what a folder keeps of what went into its run.
func copiesOf(f *evidence.Folder) (
	*config.Station, *config.Requirements, []verdict.Waiver, error,
) {
	m := f.Manifest()
	if len(m.Scenarios) == 0 {
		return nil, nil, nil, BadInput{f.Path() + ": its manifest.json plans no scenarios"}
	}
	hashes := map[string]bool{}
	for _, one := range m.Fixtures {
		hashes[one.SHA256] = true
	}
	st, set, err := loadCopies(f.Path(), hashes)
	if err != nil {
		return nil, nil, nil, err
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
	wall     bool
}

// judge judges one case anew, in place.
func (j *judge) judge(c *evidence.Case) error {
	if c.Verdict == verdict.BenchFailed || len(c.Phases) == 0 {
		return nil // there is nothing to judge it by
	}
	if err := j.seeds(c); err != nil {
		return err
	}
	records := make([]*record.Record, len(c.Phases))
	fresh := make([][]verdict.Outcome, len(c.Phases))
	for i := range c.Phases {
		ph := &c.Phases[i]
		if !ph.Kept {
			continue
		}
		var err error
		records[i], err = j.folder.Record(c, i)
		if err != nil {
			return err
		}
		fresh[i] = Judge(records[i], j.rules)
		ph.Verdict = merged(fresh[i])
		if hasNote(c) {
			ph.Verdict = verdict.Merge(ph.Verdict, verdict.Inconclusive)
		}
	}
	for i := range c.Outcomes {
		c.Outcomes[i] = j.outcome(c, i, fresh)
	}
	c.Verdict = merged(c.Outcomes)
	if hasNote(c) {
		c.Verdict = verdict.Merge(c.Verdict, verdict.Inconclusive)
	} else if c.Reason = ""; c.Verdict != verdict.Pass {
		c.Reason = firstReason(c.Outcomes, c.Verdict)
	}
	if rec := records[c.Worst]; rec != nil {
		var err error
		if j.plan.Derived, err = j.assembly.cornerTravel(c.Corner); err != nil {
			return err
		}
		c.Stops = j.plan.stops(rec, c.Outcomes)
	}
	return nil
}

// seeds holds that the phases have the seeds that follow from the scenario's own.
func (j *judge) seeds(c *evidence.Case) error {
	for i, ph := range c.Phases {
		if ph.Number != i+1 || seed.Seed(ph.Seed) != phaseSeed(seed.Seed(c.Seed), i) {
			return fmt.Errorf("%s: the seed of phase %d does not follow from the scenario's",
				j.folder.CaseDir(c.Number, c.Name), ph.Number)
		}
	}
	return nil
}

// outcome judges one outcome of a case anew: the worst of the fresh ones of its
// sentence, unless it came from a phase whose record is not there.
func (j *judge) outcome(c *evidence.Case, i int, fresh [][]verdict.Outcome) verdict.Outcome {
	old := c.Outcomes[i]
	from := c.Worst
	if old.Spread != nil && !j.wall { // the spread of a wall run is that of virtual time
		from = old.Spread.Worst
	}
	for _, o := range fresh[from] {
		if o.Key() != old.Key() {
			continue
		}
		o.Spread, o.Occasions = old.Spread, old.Occasions
		return j.unlikePhases(o.Widened(old.Uncertainty.Model), old)
	}
	return j.held(old)
}

// unlikePhases keeps what only the whole set of runs, or the machine they ran on,
// can say of an outcome: that some run did not ask for it or gave no value, that a
// stop lies outside the phase interval, that the machine was late.
func (j *judge) unlikePhases(o, old verdict.Outcome) verdict.Outcome {
	if old.Verdict == verdict.Inconclusive && old.Reason != o.Reason {
		o.Verdict, o.Reason = old.Verdict, old.Reason
	}
	return o
}

// held holds an outcome's value against its limit again. What was left open stays so.
func (j *judge) held(o verdict.Outcome) verdict.Outcome {
	if !o.Measured || o.Verdict == verdict.Inconclusive {
		return o
	}
	q, known := j.rules.Requirement(o.Requirement)
	if !known {
		return o
	}
	limit, err := j.rules.Limits.ResolveLimit(q, o.Axis, o.End)
	if err != nil || verdict.Loosens(q, o.End, o.Limit, limit) {
		o.Verdict, o.Reason = verdict.Inconclusive, "the limit of the folder is another"
		return o
	}
	return o.Widened(o.Uncertainty.Model)
}
