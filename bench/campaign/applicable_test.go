package campaign_test

import (
	"slices"
	"strings"
	"testing"

	"haltmark/bench/campaign"
	"haltmark/bench/config"
	"haltmark/bench/evidence"
	"haltmark/bench/scenario"
	"haltmark/bench/verdict"
)

// What a station has nothing for is listed and not judged; elsewhere it is judged.
func TestInapplicable_IsListedAndNotJudged(t *testing.T) {
	for station, applies := range map[string]bool{"demo": true, "small": false} {
		a, err := campaign.Assemble(campaign.Choice{Station: station, Controller: "standin"})
		if err != nil {
			t.Fatal(err)
		}
		rules := a.Rules()
		_, judged := rules.Requirement("HR-128")
		listed := slices.ContainsFunc(a.Inapplicable(), func(line string) bool {
			return strings.HasPrefix(line, "HR-128: one servo unit turns both motors")
		})
		about := slices.ContainsFunc(a.Examples, func(e scenario.Example) bool {
			return slices.Contains(e.Tags, "@HR-128")
		})
		if judged != applies || about != applies || listed == applies || a.Partial {
			t.Errorf("%s: judged %v, scenarios %v, listed %v, partial %v", station, judged, about,
				listed, a.Partial)
		}
	}
}

// The matrix counts what passed of what was tried, by the names of the scenarios.
func TestCoverage_CountsWhatPassed(t *testing.T) {
	set, err := config.LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	var chosen []string
	for _, c := range scenario.StopMatrix(set.Strikes) {
		if c.Chosen {
			chosen = append(chosen, c.Name())
		}
	}
	tags := []string{scenario.MatrixTag}
	got := campaign.Coverage(set, []evidence.Case{
		{Name: chosen[0], Tags: tags, Verdict: verdict.Pass},
		{Name: chosen[1], Tags: tags, Verdict: verdict.Fail},
		{Name: chosen[2], Tags: tags, Verdict: verdict.Pass, Unended: true},
		{Name: "of no cell", Tags: tags, Verdict: verdict.Pass},
	})
	all := got.Totals()
	if all.Passed != 1 || all.Tried != 2 || all.Chosen != len(chosen) || all.Possible <= all.Chosen {
		t.Errorf("%+v of %d chosen", all, len(chosen))
	}
	if len(got.Rows) != len(set.Strikes) || len(got.Rows[0].Places) != len(got.Activities) {
		t.Errorf("%d rows of %d places", len(got.Rows), len(got.Rows[0].Places))
	}
}
