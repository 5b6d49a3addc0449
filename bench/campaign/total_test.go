package campaign

import (
	"testing"

	"haltmark/bench/evidence"
	"haltmark/bench/verdict"
)

// Exit codes merge 1 over 4 over 2 over 0, over standings and over
// what became of the scenarios.
func TestTotal_ExitCode(t *testing.T) {
	all := verdict.Rules{Requirements: []verdict.Requirement{{ID: "HR-001"}, {ID: "HR-002"}}}
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

// What the manifest plans and no case is of keeps a run from passing: its requirements
// are selected though no case has their tags, and a waiver does not let it stand.
func TestTotal_WhatDidNotEndCounts(t *testing.T) {
	all := verdict.Rules{Requirements: []verdict.Requirement{{ID: "HR-001"}, {ID: "HR-002"}}}
	m := evidence.Manifest{Date: "2026-12-31", Partial: true, Scenarios: []evidence.Planned{
		{Number: 1, Tags: []string{"@HR-001"}}, {Number: 2, Tags: []string{"@HR-002"}}}}
	one := evidence.Case{Number: 1, Tags: []string{"@HR-001"}, Outcomes: []verdict.Outcome{
		{Requirement: "HR-001", Verdict: verdict.Pass}}}
	waiver := []verdict.Waiver{{Requirement: "HR-002", Reason: "none", Expires: "2027-03-31"}}
	for _, waivers := range [][]verdict.Waiver{nil, waiver} {
		run := Total(m, all, []evidence.Case{one}, waivers)
		if run.ExitCode != 2 || run.Standings[1].Verdict != verdict.NotExercised ||
			len(run.Cases) != 2 || !run.Cases[1].Unended || run.Cases[1].Waived != "" {
			t.Errorf("exit code %d, %+v; want 2 and HR-002 not exercised", run.ExitCode, run.Cases)
		}
		if len(run.Reasons) == 0 || run.Reasons[0] != "1 of 2 scenarios ended" {
			t.Errorf("reasons %q", run.Reasons)
		}
	}
	failed := one
	failed.Verdict = verdict.Fail
	failed.Outcomes = []verdict.Outcome{{Requirement: "HR-001", Verdict: verdict.Fail}}
	if run := Total(m, all, []evidence.Case{failed}, nil); run.ExitCode != 1 {
		t.Errorf("a failure among what ended: exit code %d; want 1", run.ExitCode)
	}
}
