package campaign

import (
	"strings"
	"testing"

	"haltmark/bench/evidence"
	"haltmark/bench/verdict"
)

// Of a virtual run an outcome comes from the phase that was its worst; of a wall
// run from the run on the wall clock, whatever the virtual phases' spread says.
func TestJudge_TakesTheRunThatTheOutcomeCameFrom(t *testing.T) {
	old := stop(1.5, verdict.Pass)
	old.Spread = &verdict.Spread{Worst: 1}
	fresh := [][]verdict.Outcome{{stop(1.0, verdict.Pass)}, {stop(1.2, verdict.Pass)},
		{stop(1.4, verdict.Pass)}}
	c := evidence.Case{Outcomes: []verdict.Outcome{old}, Worst: 2}
	for wall, want := range map[bool]float64{false: 1.2, true: 1.4} {
		j := &judge{wall: wall}
		if got := j.outcome(&c, 0, fresh); got.Value != want {
			t.Errorf("wall %v: value %v; want %v", wall, got.Value, want)
		}
	}
}

// What only the whole run could say stands: here that this machine was late.
func TestJudge_KeepsWhyItWasLeftOpen(t *testing.T) {
	old := stop(3, verdict.Inconclusive)
	old.Reason = "this machine was late"
	c := evidence.Case{Outcomes: []verdict.Outcome{old}}
	for name, fresh := range map[string][][]verdict.Outcome{
		"with a record": {{stop(3, verdict.Fail)}}, "without": {nil},
	} {
		got := (&judge{}).outcome(&c, 0, fresh)
		if got.Verdict != verdict.Inconclusive || got.Reason != old.Reason {
			t.Errorf("%s: %v, %q", name, got.Verdict, got.Reason)
		}
	}
}

// An outcome that no record asks for, and one that passes what a record fails.
func TestJudge_TellsNoMoreThanTheRecords(t *testing.T) {
	c := evidence.Case{Outcomes: []verdict.Outcome{stop(1, verdict.Pass)},
		Phases: []evidence.Phase{{Number: 1, Kept: true}, {Number: 2, Kept: true}}}
	other := stop(1, verdict.Pass)
	other.Text = "another sentence"
	failed := stop(3, verdict.Fail)
	for name, row := range map[string]struct {
		fresh [][]verdict.Outcome
		want  string
	}{
		"as recorded":   {[][]verdict.Outcome{{stop(1, verdict.Pass)}, {}}, ""},
		"not asked":     {[][]verdict.Outcome{{}, {}}, "what no record asks"},
		"fails":         {[][]verdict.Outcome{{stop(1, verdict.Pass)}, {failed}}, "phase 2"},
		"another value": {[][]verdict.Outcome{{stop(2, verdict.Pass)}, {}}, "its record 2"},
		"one more":      {[][]verdict.Outcome{{stop(1, verdict.Pass), other}, {}}, "tells nothing of"},
	} {
		err := (&judge{}).told(&c, row.fresh)
		if row.want == "" && err != nil || row.want != "" &&
			(err == nil || !strings.Contains(err.Error(), row.want)) {
			t.Errorf("%s: %v; want %q", name, err, row.want)
		}
	}
}
