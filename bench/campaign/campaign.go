package campaign

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"haltmark/bench/evidence"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/bench/scenario"
	"haltmark/bench/seed"
	"haltmark/bench/verdict"
)

// Plan is one campaign.
type Plan struct {
	Run      scenario.Run // what every run shares; seed, phase, step and raw are set here
	Examples []scenario.Example
	Seed     seed.Seed
	Phases   int
	Full     bool // every cell of the stop matrix, at all phases
	Step     time.Duration
	Jobs     int
	First    int    // how many cases the campaign has before those of this plan
	Corner   string // of the station; "" at nominal
	Slice    evidence.Slice
	// Derived is the travel of a stop that follows from the station's figures,
	// rad; 0 where none does. Nil for never.
	Derived func(axis, cause string) float64
	// Chain is the limit chain of an axis; nil where it has none.
	Chain func(axis string) *plant.LimitChain
	// Folder takes the records; nil for nowhere.
	Folder *evidence.Folder
	// Wall runs every example once more on the wall clock; nil for never.
	Wall *Wall
	// Done is told of every finished example, in file order; nil for nobody. Its
	// error ends the campaign.
	Done func(*Case) error
	// Stop, once closed, ends the campaign: no run begins, and no example ends that
	// still needs one. Nil for never.
	Stop <-chan struct{}
}

// Case is one example with everything its runs added up to.
type Case struct {
	Number    int // place in file order, from 1
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
	Kept     bool           // the record is in the folder
	result   scenario.Result
	folder   *evidence.PhaseFolder
}

// discard gives back what the record of a phase takes up.
func (ph *Phase) discard() {
	ph.Record = nil
	ph.result.Close()
}

// Discard gives back what the records of a case take up, once its Evidence is taken.
func (c *Case) Discard() {
	for i := range c.Phases {
		c.Phases[i].discard()
	}
	c.Record = nil
}

// trial is one run that is to be made.
type trial struct {
	run   scenario.Run
	shift float64
	seed  seed.Seed
	step  time.Duration
	raw   io.Writer
	late  func(*record.Record) // writes down how late this machine was; nil in virtual time
}

// Do carries the campaign out. The cases come back in file order, whatever the
// number of jobs. After an error no further example begins. A case is nil where the
// campaign was stopped before the example had ended; the error is then ErrStopped.
func (p *Plan) Do() ([]*Case, error) {
	own := p.own()
	cases := make([]*Case, len(own))
	ready := make([]chan struct{}, len(cases))
	for i := range ready {
		ready[i] = make(chan struct{})
	}
	next, stop := make(chan int), make(chan struct{})
	var workers sync.WaitGroup
	for range max(1, p.Jobs) {
		workers.Go(func() {
			for i := range next {
				cases[i] = p.try(own[i])
				close(ready[i])
			}
		})
	}
	workers.Go(func() {
		defer close(next)
		for i := range cases {
			select {
			case next <- i:
			case <-stop:
				return
			case <-p.Stop:
				return
			}
		}
	})
	idle := make(chan struct{})
	go func() {
		workers.Wait()
		close(idle)
	}()
	failed := p.told(cases, ready, idle)
	close(stop)
	<-idle
	return cases, failed
}

// own lists the examples of the plan that are in its slice, by their places.
func (p *Plan) own() []int {
	var all []int
	for i := range p.Examples {
		if p.Slice.Has(p.First + i + 1) {
			all = append(all, i)
		}
	}
	return all
}

// told tells Done of every case, in file order, as they end.
func (p *Plan) told(cases []*Case, ready []chan struct{}, idle <-chan struct{}) error {
	var failed error
	for i := range cases {
		select {
		case <-ready[i]:
		case <-idle:
		}
		switch {
		case cases[i] == nil:
			failed = ErrStopped
		case p.Done != nil:
			if err := p.Done(cases[i]); err != nil {
				return err
			}
		}
	}
	return failed
}

// try runs an example; a panic of the bench is the bench's failure, with its text. The
// case is nil when the campaign was stopped before its end.
func (p *Plan) try(i int) (c *Case) {
	e := &p.Examples[i]
	c = &Case{Number: p.First + i + 1, Example: e, Seed: exampleSeed(p.Seed, e)}
	defer func() {
		if r := recover(); r != nil && p.stopped() {
			c = nil
		} else if r != nil {
			p.failed(c, fmt.Sprintf("%v\n%s", r, debug.Stack()))
		}
	}()
	if err := p.example(c); errors.Is(err, ErrStopped) {
		return nil
	} else if err != nil {
		p.failed(c, err.Error())
	}
	return c
}

// failed makes a case one at which the bench failed. The whole text goes beside its
// records, as far as there is still a disk to write to.
func (p *Plan) failed(c *Case, text string) {
	line, _, _ := strings.Cut(text, "\n")
	c.Verdict, c.Reason = verdict.BenchFailed, "the bench failed: "+line
	if p.Folder != nil {
		dir := p.Folder.CaseDir(c.Number, p.named(c.Example))
		_ = os.MkdirAll(dir, 0o755)
		_ = os.WriteFile(filepath.Join(dir, failureFile), []byte(text+"\n"), 0o644)
	}
}

// failureFile tells of a failure of the bench in a scenario's folder.
const failureFile = "failure.txt"

func (p *Plan) example(c *Case) error {
	for i, shift := range phases(c.Seed, p.phasesOf(c.Example)) {
		t := trial{run: p.Run, shift: shift, seed: phaseSeed(c.Seed, i), step: p.Step}
		if err := p.tryPhase(c, t); err != nil {
			return err
		}
	}
	if len(c.Phases) > 0 {
		c.join(p)
	}
	if p.Wall != nil {
		if err := p.wallRun(c); err != nil {
			return err
		}
	}
	return p.keep(c)
}

// tryPhase makes one run with its raw record in the folder.
func (p *Plan) tryPhase(c *Case, t trial) error {
	var folder *evidence.PhaseFolder
	if p.Folder != nil {
		var err error
		folder, err = p.Folder.StartPhase(c.Number, p.named(c.Example),
			len(c.Phases)+1)
		if err != nil {
			return err
		}
		t.raw = folder
	}
	ph, simulated := p.phase(c.Example, t)
	ph.folder = folder
	c.Phases = append(c.Phases, ph)
	c.Simulated += simulated
	if folder != nil {
		return folder.Close()
	}
	return nil
}

// phase is one run, judged from its record alone.
func (p *Plan) phase(e *scenario.Example, t trial) (Phase, time.Duration) {
	if p.stopped() {
		panic(ErrStopped) // what was begun cannot be ended any more
	}
	r := t.run
	r.Seed, r.Phase, r.Step, r.Raw = t.seed, t.shift, t.step, t.raw
	result := r.Do(e)
	ph := Phase{Shift: t.shift, Seed: t.seed, Err: result.Err, Record: result.Record,
		result: result}
	if result.Record == nil {
		ph.Verdict = verdict.Inconclusive
		return ph, 0
	}
	if t.late != nil {
		t.late(result.Record)
	}
	ph.Hash = result.Record.Hash()
	ph.Outcomes = Judge(result.Record, r.Rules)
	ph.Verdict = merged(ph.Outcomes)
	if ph.Err != nil {
		ph.Verdict = verdict.Merge(ph.Verdict, verdict.Inconclusive)
	}
	return ph, result.Simulated
}
