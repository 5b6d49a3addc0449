package campaign

import (
	"cmp"

	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

// Judge is what `gate` and `judge` share: everything a record asked for, and
// every watch.
func Judge(rec *record.Record, all []verdict.Requirement, l verdict.Limits) []verdict.Outcome {
	asks := make([]verdict.Ask, len(rec.Asks))
	for i, a := range rec.Asks {
		asks[i] = verdict.Ask(a)
	}
	return verdict.Judge(rec, asks, all, l)
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

// join adds the phases up: the worst one is run once more at double the plant
// step, and the difference is the uncertainty of the model.
func (c *Case) join(p *Plan) {
	c.Worst = c.worst()
	worst := &c.Phases[c.Worst]
	c.Record, c.Steps = worst.Record, worst.steps
	all := make([][]verdict.Outcome, len(c.Phases))
	for i := range c.Phases {
		all[i] = c.Phases[i].Outcomes
	}
	double, simulated := p.phase(c.Example,
		trial{run: p.Run, shift: worst.Shift, seed: worst.Seed, step: 2 * p.Step})
	c.Simulated += simulated
	c.Outcomes = verdict.WithModel(verdict.Phases(all), worst.Outcomes, double.Outcomes)
	c.Verdict = merged(c.Outcomes)
	for i := range c.Phases {
		c.undone(&c.Phases[i])
	}
}

// undone takes in why the world of a phase did not do what the sentences say.
func (c *Case) undone(ph *Phase) {
	if ph.Err != nil {
		c.Verdict = verdict.Merge(c.Verdict, verdict.Inconclusive)
		c.Reason = cmp.Or(c.Reason, ph.Err.Error())
	}
}

// keep leaves the records of the judged phase and of those that did not pass, in
// memory and in the folder; of the others seed, figures and hash remain.
func (p *Plan) keep(c *Case) error {
	for i := range c.Phases {
		ph := &c.Phases[i]
		keep := ph.Record != nil && (i == c.Worst || ph.Verdict != verdict.Pass)
		if !keep {
			ph.Record = nil
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
func (c *Case) worst() int {
	worst := 0
	for i := range c.Phases {
		a, b := c.Phases[i].Verdict, c.Phases[worst].Verdict
		switch {
		case a != b && verdict.Merge(a, b) == a:
			worst = i
		case a == b && tightness(c.Phases[i].Outcomes) < tightness(c.Phases[worst].Outcomes):
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
