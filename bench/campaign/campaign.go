package campaign

import (
	"cmp"
	"crypto/sha256"
	"fmt"
	"sync"
	"time"

	"haltmark/bench/record"
	"haltmark/bench/scenario"
	"haltmark/bench/seed"
	"haltmark/bench/verdict"
)

// Plan is one campaign.
type Plan struct {
	Run      scenario.Run // what every run shares; seed, phase, step and raw are set here
	Limits   verdict.Limits
	Examples []scenario.Example
	Seed     seed.Seed
	Phases   int
	Step     time.Duration
	Jobs     int
	// Done is told of every finished example, in file order; nil for nobody. Its
	// error ends the campaign.
	Done func(*Case) error
}

// Case is one example with everything its runs added up to.
type Case struct {
	Example   *scenario.Example
	Seed      seed.Seed
	Phases    []Phase
	Worst     int // index of the phase that is judged and plotted
	Outcomes  []verdict.Outcome
	Verdict   verdict.Verdict
	Reason    string // why a run came to nothing
	Steps     []scenario.StepResult
	Record    *record.Record // of the worst phase
	Simulated time.Duration  // over all runs
}

// Phase is one run of an example.
type Phase struct {
	Shift    float64 // 0..1 of a control cycle
	Seed     seed.Seed
	Hash     [sha256.Size]byte
	Outcomes []verdict.Outcome
	Verdict  verdict.Verdict
	Err      error
	Record   *record.Record // of the worst phase and of those that did not pass
	steps    []scenario.StepResult
}

// Do carries the campaign out. The cases come back in file order, whatever the
// number of jobs.
func (p *Plan) Do() ([]*Case, error) {
	cases := make([]*Case, len(p.Examples))
	ready := make([]chan struct{}, len(cases))
	for i := range ready {
		ready[i] = make(chan struct{})
	}
	next := make(chan int)
	var workers sync.WaitGroup
	for range max(1, p.Jobs) {
		workers.Go(func() {
			for i := range next {
				cases[i] = p.try(&p.Examples[i])
				close(ready[i])
			}
		})
	}
	go func() {
		for i := range cases {
			next <- i
		}
		close(next)
	}()
	var failed error
	for i := range cases {
		<-ready[i]
		if p.Done != nil && failed == nil {
			failed = p.Done(cases[i])
		}
	}
	workers.Wait()
	return cases, failed
}

// try runs an example; a panic of the bench is the bench's failure, with its text.
func (p *Plan) try(e *scenario.Example) (c *Case) {
	defer func() {
		if r := recover(); r != nil {
			c = &Case{Example: e, Verdict: verdict.BenchFailed, Reason: fmt.Sprint("the bench failed: ", r)}
		}
	}()
	return p.example(e)
}

func (p *Plan) example(e *scenario.Example) *Case {
	c := &Case{Example: e, Seed: exampleSeed(p.Seed, e)}
	for i, shift := range phases(c.Seed, p.Phases) {
		ph, simulated := p.phase(e, shift, phaseSeed(c.Seed, i), p.Step)
		c.Phases = append(c.Phases, ph)
		c.Simulated += simulated
	}
	c.join(p)
	return c
}

// phase is one run, judged from its record alone.
func (p *Plan) phase(
	e *scenario.Example, shift float64, s seed.Seed, step time.Duration,
) (Phase, time.Duration) {
	r := p.Run
	r.Seed, r.Phase, r.Step = s, shift, step
	result := r.Do(e)
	ph := Phase{Shift: shift, Seed: s, Err: result.Err, Record: result.Record, steps: result.Steps}
	if result.Record == nil {
		ph.Verdict = verdict.Inconclusive
		return ph, 0
	}
	ph.Hash = result.Record.Hash()
	ph.Outcomes = Judge(result.Record, r.Requirements, p.Limits)
	ph.Verdict = merged(ph.Outcomes)
	if ph.Err != nil {
		ph.Verdict = verdict.Merge(ph.Verdict, verdict.Inconclusive)
	}
	return ph, result.Simulated
}

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
	double, simulated := p.phase(c.Example, worst.Shift, worst.Seed, 2*p.Step)
	c.Simulated += simulated
	c.Outcomes = verdict.WithModel(verdict.Phases(all), double.Outcomes)
	c.Verdict = merged(c.Outcomes)
	for i := range c.Phases {
		ph := &c.Phases[i]
		if ph.Err != nil {
			c.Verdict = verdict.Merge(c.Verdict, verdict.Inconclusive)
			c.Reason = cmp.Or(c.Reason, ph.Err.Error())
		}
		if i != c.Worst && ph.Verdict == verdict.Pass {
			ph.Record = nil // its seed, figures and hash are kept
		}
	}
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
