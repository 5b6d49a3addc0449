package scenario

import (
	"fmt"

	"haltmark/bench/fault"
	"haltmark/bench/station"
)

// Rehearse sets an example's Givens up without letting anything happen, and tells what
// contradicts another or cannot be on this station. The error names the sentence.
func (r Run) Rehearse(e *Example) error {
	w := &World{run: &r, tags: e.Tags}
	for i := range e.Steps {
		s := &e.Steps[i]
		if s.Keyword != Given {
			break
		}
		err := s.Phrase.Does(w, s.Words)
		if err == nil {
			err = w.possible()
		}
		if err != nil {
			return &Error{e.Path, s.Line, fmt.Sprintf("%q: %v", s.Text, err)}
		}
	}
	return nil
}

// possible tells why a station cannot be as it is planned so far.
func (w *World) possible() error {
	plan, err := fault.NewPlan(w.plan...)
	if err != nil {
		return err
	}
	w.placeOthers()
	_, err = station.New(*w.run.Station, station.Options{
		Step: w.run.Step, Position: w.position, Seed: w.run.Seed, Faults: plan,
	})
	return err
}
