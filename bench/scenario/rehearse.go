package scenario

import (
	"fmt"

	"haltmark/bench/station"
)

// Rehearse sets up an example's Givens without building a world. Its error names the first
// sentence that contradicts an earlier one, or asks for what this station cannot have; a
// fault that a later When names is checked too.
func (r Run) Rehearse(e *Example) error {
	w := &World{run: &r, tags: e.Tags}
	for i := range e.Steps {
		s := &e.Steps[i]
		if err := w.rehearse(s); err != nil {
			return &Error{e.Path, s.Line, fmt.Sprintf("%q: %v", s.Text, err)}
		}
	}
	return nil
}

// rehearse sets a Given up; of a When it looks at the fault that it names.
func (w *World) rehearse(s *Sentence) error {
	switch {
	case s.Keyword == Given:
		if err := s.Phrase.Does(w, s.Words); err != nil {
			return err
		}
		return w.possible()
	case s.Words.Fault != "":
		_, err := w.fault(s.Words.Fault, s.Words.Target, s.Words.Settings...)
		return err
	}
	return nil
}

// possible tells why a station cannot be as it is planned so far.
func (w *World) possible() error {
	w.placeOthers()
	_, err := station.New(*w.run.Station, station.Options{
		Step: w.run.Step, Position: w.position, Seed: w.run.Seed, Faults: w.plan,
	})
	return err
}
