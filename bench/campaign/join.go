package campaign

import (
	"cmp"

	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

// Judge is what `gate` and `judge` share: everything a record asked for, and
// every watch.
func Judge(rec *record.Record, rules verdict.Rules) []verdict.Outcome {
	asks := make([]verdict.Ask, len(rec.Asks))
	for i, a := range rec.Asks {
		asks[i] = verdict.Ask(a)
	}
	return verdict.Judge(rec, asks, rules)
}

// merged is the verdict over outcomes; watches without an occasion say nothing.
func merged(outcomes []verdict.Outcome) verdict.Verdict {
	v := verdict.Pass
	for _, o := range outcomes {
		if o.Verdict != verdict.NotExercised {
			v = verdict.Merge(v, o.Verdict)
		}
	}
	return v
}

// join adds the phases up. The worst one is run once more at double the plant step,
// and the difference is the uncertainty of the model.
func (c *Case) join(p *Plan) {
	all := make([][]verdict.Outcome, len(c.Phases))
	verdicts := make([]verdict.Verdict, len(c.Phases))
	for i := range c.Phases {
		all[i], verdicts[i] = c.Phases[i].Outcomes, c.Phases[i].Verdict
	}
	c.Worst = worst(verdicts, all)
	worst := &c.Phases[c.Worst]
	c.Record, c.Steps = worst.Record, worst.result.Steps
	c.Outcomes = p.withModel(c, verdict.Phases(all))
	c.Verdict = merged(c.Outcomes)
	for i := range c.Phases {
		c.undone(&c.Phases[i])
	}
}

// withModel adds the uncertainty of the model to the joined outcomes. A cause that
// falls right between two control cycles may fall on the other side at double the
// step; that is a matter of phase, not of the model. So where the one run opens what
// had passed, the worst of all phases is held against the worst of all phases.
func (p *Plan) withModel(c *Case, joined []verdict.Outcome) []verdict.Outcome {
	double := func(i int) []verdict.Outcome {
		ph := &c.Phases[i]
		again, simulated := p.phase(c.Example,
			trial{run: p.Run, shift: ph.Shift, seed: ph.Seed, step: 2 * p.Step})
		again.discard()
		c.Simulated += simulated
		return again.Outcomes
	}
	out := verdict.WithModel(joined, c.Phases[c.Worst].Outcomes, double(c.Worst))
	if !opened(joined, out) {
		return out
	}
	all := make([][]verdict.Outcome, len(c.Phases))
	for i := range all {
		all[i] = double(i)
	}
	return verdict.WithModel(joined, joined, verdict.Phases(all))
}

// opened reports whether something that passed no longer does.
func opened(before, after []verdict.Outcome) bool {
	for i := range before {
		if before[i].Verdict == verdict.Pass && after[i].Verdict != verdict.Pass {
			return true
		}
	}
	return false
}

// undone takes in why the world of a phase did not do what the sentences say.
func (c *Case) undone(ph *Phase) {
	if ph.Err != nil {
		c.Verdict = verdict.Merge(c.Verdict, verdict.Inconclusive)
		c.Reason = cmp.Or(c.Reason, ph.Err.Error())
	}
}

// keep leaves the records of the judged phase, of those that a worst value comes from and of
// those that did not pass, in memory and in the folder; of the others seed, figures and
// hash remain.
func (p *Plan) keep(c *Case) error {
	stated := map[int]bool{c.Worst: true}
	for _, o := range c.Outcomes {
		if o.Spread != nil {
			stated[o.Spread.Worst] = true
		}
	}
	for i := range c.Phases {
		ph := &c.Phases[i]
		keep := ph.Record != nil && (stated[i] || ph.Verdict != verdict.Pass)
		if !keep {
			ph.discard()
		}
		if ph.folder == nil {
			continue
		}
		var err error
		if keep {
			err = ph.folder.Keep(ph.Record)
		} else {
			err = ph.folder.Drop()
		}
		if err != nil {
			return err
		}
		ph.Kept = keep
	}
	return nil
}

// worst is the phase with the worst verdict, and among equals the one with the
// least margin in proportion to its limit.
func worst(verdicts []verdict.Verdict, phases [][]verdict.Outcome) int {
	worst := 0
	for i := range phases {
		a, b := verdicts[i], verdicts[worst]
		switch {
		case a != b && verdict.Merge(a, b) == a:
			worst = i
		case a == b && tightness(phases[i]) < tightness(phases[worst]):
			worst = i
		}
	}
	return worst
}

// tightness is the least margin as a share of its limit.
func tightness(outcomes []verdict.Outcome) float64 {
	least := 1e9
	for _, o := range outcomes {
		if o.Measured && !o.Watch && o.Limit != 0 {
			least = min(least, o.Margin/max(o.Limit, -o.Limit))
		}
	}
	return least
}
