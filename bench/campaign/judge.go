package campaign

import (
	"errors"
	"fmt"
	"slices"
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
	run := Total(m, rules, cases, waivers)
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
	if err := j.told(c, fresh); err != nil {
		return fmt.Errorf("%s: %w", j.folder.CaseDir(c.Number, c.Name), err)
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

// told holds that case.json tells an outcome of each ask and watch of its records, with the
// value of its record and no better than any, and none that no record could have.
func (j *judge) told(c *evidence.Case, fresh [][]verdict.Outcome) error {
	tells := map[string]verdict.Verdict{}
	for i := range c.Outcomes {
		tells[c.Outcomes[i].Key()] = c.Outcomes[i].Verdict
	}
	asked := map[string]bool{}
	whole := true // every phase has its record
	for i := range c.Phases {
		ph := &c.Phases[i]
		if err := unseen(ph); err != nil {
			return err
		}
		whole = whole && ph.Kept
		for _, o := range fresh[i] {
			asked[o.Key()] = true
			switch v, tells := tells[o.Key()]; {
			case !tells:
				return fmt.Errorf("case.json tells nothing of %s, which the record of phase %d asks: %s",
					o.Requirement, ph.Number, o.Text)
			case o.Verdict == verdict.Fail && v == verdict.Pass:
				return fmt.Errorf("case.json passes %s, which fails by the record of phase %d: %s",
					o.Requirement, ph.Number, o.Text)
			}
		}
	}
	for i, o := range c.Outcomes {
		now, recorded := j.source(c, i, fresh)
		if recorded && now.Value != o.Value && now.Value == now.Value {
			return fmt.Errorf("case.json tells %g of %s, its record %g: %s",
				o.Value, o.Requirement, now.Value, o.Text)
		}
		if whole && !asked[o.Key()] {
			return fmt.Errorf("case.json tells of %s what no record asks: %s", o.Requirement, o.Text)
		}
	}
	return nil
}

// unseen holds that a phase without a record passed, by its own figures too.
func unseen(ph *evidence.Phase) error {
	if ph.Kept {
		return nil
	}
	if ph.Verdict != verdict.Pass {
		return fmt.Errorf("phase %d did not pass, and its record is not kept", ph.Number)
	}
	for _, f := range ph.Figures {
		if !(f.Margin >= 0) {
			return fmt.Errorf("phase %d misses %s by its figure, and its record is not kept",
				ph.Number, f.Requirement)
		}
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
	if o, ok := j.source(c, i, fresh); ok {
		o.Spread, o.Occasions = old.Spread, old.Occasions
		return j.unlikePhases(o.Widened(old.Uncertainty.Model), old)
	}
	return j.held(old)
}

// source is the fresh outcome of the phase that an outcome of a case came from.
func (j *judge) source(c *evidence.Case, i int, fresh [][]verdict.Outcome) (verdict.Outcome, bool) {
	old := &c.Outcomes[i]
	from := c.Worst
	if old.Spread != nil && !j.wall { // the spread of a wall run is that of virtual time
		from = old.Spread.Worst
	}
	for _, o := range fresh[from] {
		if o.Key() == old.Key() {
			return o, true
		}
	}
	return verdict.Outcome{}, false
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
