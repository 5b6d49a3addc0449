package campaign

import (
	"strconv"

	"haltmark/bench/scenario"
	"haltmark/bench/seed"
)

// exampleSeed is the seed of one example: a hash of the run's seed, the feature's
// path, the rule, the name and the examples row.
func exampleSeed(run seed.Seed, e *scenario.Example) seed.Seed {
	return run.Derive(e.Path, e.Rule, e.Name, e.Row)
}

// phases spreads n instants over one control cycle, 0..1, one drawn in each of n
// equal parts (stratified), in order.
func phases(s seed.Seed, n int) []float64 {
	stream := s.Stream("phase")
	shifts := make([]float64, n)
	for i := range shifts {
		shifts[i] = (float64(i) + stream.Float64()) / float64(n)
	}
	return shifts
}

// cellPhases is at how many phases a cell of the stop matrix is tried without --full: every
// stop cause meets many phases over its cells, and all of them in the scenarios of its own.
const cellPhases = 2

// phasesOf is at how many phases an example is tried.
func (p *Plan) phasesOf(e *scenario.Example) int {
	if e.OfMatrix() && !p.Full {
		return min(p.Phases, cellPhases)
	}
	return p.Phases
}

// phaseSeed is the seed of one phase's world.
func phaseSeed(s seed.Seed, i int) seed.Seed { return s.Derive("phase", strconv.Itoa(i)) }
