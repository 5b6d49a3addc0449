package scenario

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"runtime/debug"
	"strings"
	"time"

	"github.com/cucumber/godog"
	messages "github.com/cucumber/messages/go/v34"

	"haltmark/bench/clock"
	"haltmark/bench/controller"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
	"haltmark/emulators/weather"
)

// Run is everything that one run of one example depends on.
type Run struct {
	Station *station.Parameters
	Rules   verdict.Rules
	Profile controller.Profile
	// Control makes the controller of this run, which finds its devices at the
	// seats and answers at the profile's agent.
	Control func(clock.Clock, link.Network, []station.Seat) controller.Controller
	// Clock and Network make the world's time and wires.
	World func(s seed.Seed) (clock.Clock, link.Network)
	Seed  seed.Seed
	Phase float64       // 0..1 of a control cycle
	Cycle time.Duration // the control cycle, or the slower period that phases are spread over
	Step  time.Duration // of the plant
	Raw   io.Writer     // the raw record goes here as it is taken; nil for nowhere
	Pool  *record.Pool  // of finished runs; nil for none
	Books bool          // keep the energy account of every axis, anew from each stop cause
}

// Panic is a failure of the bench itself inside a sentence.
type Panic struct {
	Value any
	Stack string
}

func (p *Panic) Error() string { return fmt.Sprintf("%v\n%s", p.Value, p.Stack) }

// Result is what one run left.
type Result struct {
	Record *record.Record // nil when no world came to be
	// Err says why the world did not do what the sentences say, with the place of
	// the sentence; nil when all did.
	Err       error
	Simulated time.Duration
	Steps     []StepResult
	Energy    [plant.AxisCount]plant.Energy // since the last stop cause, with Books

	recorder *record.Recorder
}

// Close gives back the room of a record that nobody needs any longer.
func (r *Result) Close() {
	if r.recorder != nil {
		r.recorder.Close()
	}
	r.Record, r.recorder = nil, nil
}

// StepResult tells how far a sentence came.
type StepResult struct {
	Sentence Sentence
	Done     bool
	Err      error
}

// Do carries an example out.
func (r Run) Do(e *Example) Result {
	r.Cycle = e.Period(r.Cycle)
	w := &World{run: &r, tags: e.Tags}
	w.clock, w.net = r.World(r.Seed)
	result := Result{Steps: make([]StepResult, len(e.Steps))}
	for i := range e.Steps {
		result.Steps[i].Sentence = e.Steps[i]
	}
	if err := play(e, w, &result); err != nil {
		result.Err = err
	}
	if w.panicked != nil {
		panic(w.panicked)
	}
	if err := w.close(); err != nil && result.Err == nil {
		result.Err = fmt.Errorf("the world does not close: %w", err)
	}
	if w.recorder != nil {
		result.Record, result.recorder = w.recorder.Record(), w.recorder
		result.Simulated = w.now()
		result.Energy = w.energies()
	}
	return result
}

// source is a feature of this one example alone. Its rows would each cost the whole file
// again if the feature itself were given to godog for every one of them.
func (e *Example) source() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "Feature: %s\nRule: %s\nScenario: %s\n", e.Feature, e.Rule, e.Name)
	for i := range e.Steps {
		fmt.Fprintf(&b, "%v %s\n", e.Steps[i].Keyword, e.Steps[i].Text)
	}
	return b.Bytes()
}

// play has godog walk through an example. The sentences were matched before; here each is
// carried out in its turn.
func play(e *Example, w *World, result *Result) error {
	next := 0
	suite := godog.TestSuite{
		Name: e.Name,
		Options: &godog.Options{
			Format: "progress", Output: io.Discard, NoColors: true, Strict: true, Concurrency: 1,
			FeatureContents: []godog.Feature{{Name: e.Path, Contents: e.source()}},
		},
		ScenarioInitializer: func(sc *godog.ScenarioContext) {
			sc.Before(func(ctx context.Context, p *godog.Scenario) (context.Context, error) {
				next = 0
				return ctx, checkPickle(p, e)
			})
			sc.Step(`^.*$`, func() error {
				i := next
				next++
				err := w.carryOut(&e.Steps[i])
				result.Steps[i].Done, result.Steps[i].Err = err == nil, err
				return err
			})
		},
	}
	suite.Run()
	for _, s := range result.Steps {
		if s.Err != nil {
			return &Error{e.Path, s.Sentence.Line, fmt.Sprintf("%q: %v", s.Sentence.Text, s.Err)}
		}
	}
	if next != len(e.Steps) {
		return &Error{e.Path, e.Line, fmt.Sprintf("only %d of %d sentences were carried out",
			next, len(e.Steps))}
	}
	return nil
}

// checkPickle makes sure that godog reads the example as Parse did.
func checkPickle(p *messages.Pickle, e *Example) error {
	same := p.Name == strings.TrimSpace(e.Name) && len(p.Steps) == len(e.Steps)
	for i := range p.Steps {
		same = same && p.Steps[i].Text == strings.TrimSpace(e.Steps[i].Text)
	}
	if !same {
		return fmt.Errorf("scenario: %s:%d was read as %q with %d sentences", e.Path, e.Line, p.Name,
			len(p.Steps))
	}
	return nil
}

// carryOut does what one sentence says. A panic is the bench's own failure; godog
// would swallow it, so it is kept for Do to raise again.
func (w *World) carryOut(s *Sentence) error {
	defer func() {
		if r := recover(); r != nil {
			w.panicked = &Panic{Value: r, Stack: string(debug.Stack())}
			panic(r)
		}
	}()
	w.sentence = s.Text
	if w.built {
		if s.Keyword == When {
			w.actedAt = w.now()
		}
		w.clock.Do(func() {
			w.recorder.Mark(w.now(), record.Step, s.Keyword.String(), "", s.Text)
		})
	}
	if s.Keyword == When {
		if err := w.begin(); err != nil {
			return err
		}
	}
	return s.Phrase.Does(w, s.Words)
}

func (r *Run) channels() []record.Channel { return r.Station.Channels() }

// requirement finds the requirement that a question is about after a stop cause.
func (r *Run) requirement(q question, cause string) (verdict.Requirement, bool) {
	if q.ID != "" {
		return r.Rules.Requirement(q.ID)
	}
	return r.Rules.Find(q.Measure, cmp.Or(q.Cause, cause))
}

// Lacks tells what a station lacks that an example is about; "" where it has all.
func (e *Example) Lacks(st *station.Parameters) string {
	for i := range e.Steps {
		s := &e.Steps[i]
		if s.Phrase == nil || s.Phrase.Lacks == nil {
			continue
		}
		if why := s.Phrase.Lacks(st, s.Words); why != "" {
			return why
		}
	}
	return ""
}

// Period is the slowest period that takes part in an example: a cause is tried at phases of
// the control cycle, or of the mast's second where the mast tells it.
func (e *Example) Period(cycle time.Duration) time.Duration {
	for i := range e.Steps {
		if p := e.Steps[i].Phrase; p != nil && p.Masted {
			return max(cycle, weather.Period)
		}
	}
	return cycle
}
