package campaign

import (
	"slices"
	"testing"

	"haltmark/bench/verdict"
)

// Of a requirement that is asked for, its worst corner concerns every example that
// asked; of a watch the one that came worst. What did not pass is worse than any margin.
func TestConcerned_ByTheWorstCornerOfEach(t *testing.T) {
	of := func(id string, v verdict.Verdict, margin float64, watch bool) verdict.Outcome {
		return verdict.Outcome{Requirement: id, Verdict: v, Margin: margin, Measured: true,
			Watch: watch}
	}
	asked := func(margin float64) verdict.Outcome {
		return of("HR-001", verdict.Pass, margin, false)
	}
	watched := func(margin float64) verdict.Outcome {
		return of("HR-070", verdict.Pass, margin, true)
	}
	found := [][]surveyed{
		{{outcomes: []verdict.Outcome{asked(3), watched(4)}},
			{outcomes: []verdict.Outcome{asked(2), watched(1)}},
			{outcomes: []verdict.Outcome{watched(5)}}},
		{{outcomes: []verdict.Outcome{asked(1), watched(4)}},
			{outcomes: []verdict.Outcome{asked(9), watched(2)}},
			{outcomes: []verdict.Outcome{watched(5)}}},
		{{}, {}, {undone: true}},
	}
	all := []verdict.Requirement{{ID: "HR-001"}, {ID: "HR-070", Watch: true}}
	check := func(want ...[]bool) {
		t.Helper()
		if got := concerned(found, all); !slices.EqualFunc(got, want, slices.Equal) {
			t.Errorf("concerned are %v, want %v", got, want)
		}
	}
	check([]bool{false, true, false}, []bool{true, true, false}, []bool{false, false, true})

	found[0][2].outcomes[0] = of("HR-070", verdict.Fail, 5, true)
	check([]bool{false, false, true}, []bool{true, true, false}, []bool{false, false, true})
}
