package campaign

import (
	"fmt"
	"slices"
	"sync"

	"haltmark/bench/config"
	"haltmark/bench/evidence"
	"haltmark/bench/scenario"
	"haltmark/bench/verdict"
)

// Corners says at which corners of the station a campaign is made, beside nominal.
type Corners int

const (
	NoCorners    Corners = iota
	WorstCorners         // of each requirement its worst one
	AllCorners
)

// CornersNames are the words for Corners, in order of their numbers.
func CornersNames() []string { return []string{"none", "worst", "all"} }

// CornerPlans lists the plans that follow p, one for each corner, with their cases
// numbered on. The worst corners are found by one phase of every scenario at each.
func (a *Assembly) CornerPlans(p *Plan, which Corners) ([]*Plan, error) {
	if which == NoCorners {
		return nil, nil
	}
	var plans []*Plan
	for _, c := range a.Station.Corners() {
		one, err := a.atCorner(p, c)
		if err != nil {
			return nil, fmt.Errorf("corner %s: %w", c.Name, err)
		}
		plans = append(plans, one)
	}
	if which == WorstCorners {
		if err := concern(plans, p.Run.Rules.Requirements); err != nil {
			return nil, err
		}
	}
	plans = slices.DeleteFunc(plans, func(one *Plan) bool { return len(one.Examples) == 0 })
	first := len(p.Examples)
	for _, one := range plans {
		one.First = first
		first += len(one.Examples)
	}
	return plans, nil
}

// atCorner is the plan with the station at a corner. Limits stay those of the station
// as it is meant to be; what stands beside a stop is what follows at the corner.
func (a *Assembly) atCorner(p *Plan, c config.Corner) (*Plan, error) {
	changed, parameters, err := a.Station.AtCorner(c)
	if err != nil {
		return nil, err
	}
	one := *p
	one.Corner = c.Name
	// Of the stop matrix the nominal station is enough: corners are for worst values.
	one.Examples = slices.DeleteFunc(slices.Clone(p.Examples),
		func(e scenario.Example) bool { return e.OfMatrix() })
	one.Run.Station = &parameters
	one.Derived = (&Assembly{Station: changed, Requirements: a.Requirements}).derivedTravel
	one.Chain = a.chain(&parameters)
	return &one, nil
}

// named is what a case of an example is called in this plan.
func (p *Plan) named(e *scenario.Example) string {
	if p.Corner == "" {
		return e.Title
	}
	return e.Title + ", at " + p.Corner
}

// surveyed is what one phase of one example came to.
type surveyed struct {
	outcomes []verdict.Outcome
	undone   bool // it needs a closer look, whatever it measured
}

// concern leaves in each plan the examples that some requirement's worst corner
// concerns, and those that could not be carried out.
func concern(plans []*Plan, all []verdict.Requirement) error {
	found, err := survey(plans)
	if err != nil {
		return err
	}
	concerned := concerned(found, all)
	for i, p := range plans {
		var kept []scenario.Example
		for k := range p.Examples {
			if concerned[i][k] {
				kept = append(kept, p.Examples[k])
			}
		}
		p.Examples = kept
	}
	return nil
}

// concerned tells which examples of which corner need all phases. At the corner with a
// requirement's worst outcome those are all that were asked for it and, since a watch
// is over everything, the one that came worst.
func concerned(found [][]surveyed, all []verdict.Requirement) [][]bool {
	var outcomes []verdict.Outcome
	var origins [][2]int // corner and example
	marked := make([][]bool, len(found))
	for i := range found {
		marked[i] = make([]bool, len(found[i]))
		for k := range found[i] {
			marked[i][k] = found[i][k].undone
			for _, o := range found[i][k].outcomes {
				outcomes, origins = append(outcomes, o), append(origins, [2]int{i, k})
			}
		}
	}
	for _, st := range verdict.Stand(all, outcomes, nil) {
		if st.Worst == nil {
			continue
		}
		at := 0
		for &outcomes[at] != st.Worst {
			at++
		}
		corner := origins[at][0]
		marked[corner][origins[at][1]] = true
		for i := range outcomes {
			o := &outcomes[i]
			if origins[i][0] == corner && o.Requirement == st.Requirement && !o.Watch {
				marked[corner][origins[i][1]] = true
			}
		}
	}
	return marked
}

// survey runs one phase of every example of every plan. Nothing of it is kept but
// what it came to, in the order of plans and examples whatever the number of jobs.
func survey(plans []*Plan) ([][]surveyed, error) {
	found := make([][]surveyed, len(plans))
	next := make(chan func())
	var workers sync.WaitGroup
	for range max(1, plans[0].Jobs) {
		workers.Go(func() {
			for do := range next {
				do()
			}
		})
	}
	for i, p := range plans {
		found[i] = make([]surveyed, len(p.Examples))
		for k := range p.Examples {
			next <- func() { found[i][k] = p.tryOnce(&p.Examples[k]) }
		}
	}
	close(next)
	workers.Wait()
	if plans[0].stopped() {
		return nil, ErrStopped
	}
	return found, nil
}

// tryOnce is one phase of an example. A panic leaves it to the whole campaign to say
// what the matter is.
func (p *Plan) tryOnce(e *scenario.Example) (s surveyed) {
	defer func() {
		if recover() != nil {
			s = surveyed{undone: true}
		}
	}()
	own := exampleSeed(p.Seed, e)
	ph, _ := p.phase(e, trial{run: p.Run, shift: phases(own, p.Phases)[0],
		seed: phaseSeed(own, 0), step: p.Step})
	ph.discard()
	return surveyed{outcomes: ph.Outcomes, undone: ph.Err != nil}
}

// cornerTravel finds the derived travels of the corner that a case was judged at.
func (a *Assembly) cornerTravel(name string) (func(axis, cause string) float64, error) {
	if name == "" {
		return a.derivedTravel, nil
	}
	for _, c := range a.Station.Corners() {
		if c.Name != name {
			continue
		}
		changed, _, err := a.Station.AtCorner(c)
		return (&Assembly{Station: changed, Requirements: a.Requirements}).derivedTravel, err
	}
	return nil, BadInput{"the station of the folder has no corner " + name}
}

// PlannedWith is everything that a campaign sets out to try, corners included.
func (p *Plan) PlannedWith(corners []*Plan) []evidence.Planned {
	all := p.planned()
	for _, c := range corners {
		all = append(all, c.planned()...)
	}
	return all
}
