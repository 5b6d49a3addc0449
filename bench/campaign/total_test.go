package campaign

import (
	"testing"

	"haltmark/bench/evidence"
	"haltmark/bench/verdict"
)

// Exit codes merge 1 over 4 over 2 over 0 (DESIGN 8.6), over standings and over
// what became of the scenarios.
func TestTotal_ExitCode(t *testing.T) {
	all := []verdict.Requirement{{ID: "HR-001"}, {ID: "HR-002"}}
	ask := func(id string, v verdict.Verdict) evidence.Case {
		return evidence.Case{Verdict: v, Tags: []string{"@" + id},
			Outcomes: []verdict.Outcome{{Requirement: id, Verdict: v, Measured: true}}}
	}
	failed := evidence.Case{Verdict: verdict.BenchFailed, Tags: []string{"@HR-001"}}
	undone := evidence.Case{Verdict: verdict.Inconclusive, Tags: []string{"@HR-002"}}
	waiver := []verdict.Waiver{{Requirement: "HR-002", Reason: "no", Expires: "2027-01-01"}}
	one := ask("HR-001", verdict.Pass)
	for name, row := range map[string]struct {
		cases   []evidence.Case
		waivers []verdict.Waiver
		partial bool
		want    int
	}{
		"all pass":              {[]evidence.Case{one, ask("HR-002", verdict.Pass)}, nil, false, 0},
		"one not exercised":     {[]evidence.Case{one}, nil, false, 2},
		"one not selected":      {[]evidence.Case{one}, nil, true, 0},
		"fail over the bench's": {[]evidence.Case{failed, ask("HR-002", verdict.Fail)}, nil, true, 1},
		"bench's over open":     {[]evidence.Case{failed, undone}, nil, true, 4},
		"undone":                {[]evidence.Case{one, undone}, nil, true, 2},
		"undone and waived":     {[]evidence.Case{one, undone}, waiver, true, 0},
		"a failure is not waived": {[]evidence.Case{one, ask("HR-002", verdict.Fail)}, waiver, true,
			1},
	} {
		run := Total(evidence.Manifest{Date: "2026-12-31", Partial: row.partial}, all, row.cases,
			row.waivers)
		if run.ExitCode != row.want || (run.Verdict == verdict.Pass) != (row.want == 0) {
			t.Errorf("%s: exit code %d, %v; want %d", name, run.ExitCode, run.Verdict, row.want)
		}
		if (row.want == 0) != (len(run.Reasons) == 0) {
			t.Errorf("%s: reasons %q", name, run.Reasons)
		}
	}
}
