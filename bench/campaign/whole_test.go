package campaign_test

import (
	"slices"
	"testing"

	"haltmark/bench/campaign"
	"haltmark/bench/evidence"
	"haltmark/bench/seed"
	"haltmark/bench/standin"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
)

// whole runs a selection and returns every standing and case.
func whole(
	t *testing.T, c campaign.Choice, phases int,
) (*campaign.Assembly, []verdict.Standing, []evidence.Case) {
	t.Helper()
	c.Station, c.Controller = "demo", "standin"
	a, err := campaign.Assemble(c)
	if err != nil {
		t.Fatal(err)
	}
	p := a.Plan(seed.Seed(1), phases, station.DefaultStep, 2)
	cases, err := p.Do()
	if err != nil {
		t.Fatal(err)
	}
	var outcomes []verdict.Outcome
	var shown []evidence.Case
	for _, one := range cases {
		outcomes = append(outcomes, one.Outcomes...)
		shown = append(shown, p.Evidence(one))
	}
	return a, verdict.Stand(a.Requirements.All, outcomes, nil), shown
}

func verdictOf(standings []verdict.Standing, id string) verdict.Verdict {
	for _, s := range standings {
		if s.Requirement == id {
			return s.Verdict
		}
	}
	return verdict.NotSelected
}

// Each seeded defect is caught by the requirement that is meant for it.
func TestDefects_CaughtByTheirRequirement(t *testing.T) {
	for _, d := range standin.Defects() {
		if d.Name == standin.Obstinate {
			continue
		}
		t.Run(d.Name, func(t *testing.T) {
			tags := "@" + d.Requirement
			if slices.Contains([]string{"HR-070", "HR-071", "HR-072", "HR-075"}, d.Requirement) {
				// No Rule is about these: they watch over all stops.
				tags = "@HR-020,@HR-050,@HR-057"
			}
			_, standings, _ := whole(t, campaign.Choice{Tags: tags, Defect: d.Name}, 2)
			if got := verdictOf(standings, d.Requirement); got != verdict.Fail {
				t.Errorf("%s: %v, want fail", d.Requirement, got)
			}
		})
	}
}

// A controller that reacts to nothing fails every reaction that it answers for.
func TestObstinate_FailsEveryReactionOfTheController(t *testing.T) {
	a, standings, _ := whole(t, campaign.Choice{Defect: standin.Obstinate}, 1)
	for _, q := range a.Requirements.All {
		if q.Kind != verdict.Reaction || q.Answers != verdict.Controller {
			continue
		}
		if got := verdictOf(standings, q.ID); got != verdict.Fail {
			t.Errorf("%s: %v, want fail", q.ID, got)
		}
	}
}

// The healthy stand-in passes all of it, and no stop of the demo station is longer
// than 1.6 times what follows for a stiff axis: its gear's spring lets a
// load swing 1.2 to 1.6 times as far (testdata/SOURCES.md).
func TestHealthy_PassesAndStopsNearTheDerivedTravel(t *testing.T) {
	_, standings, cases := whole(t, campaign.Choice{}, 2)
	for _, s := range standings {
		if s.Verdict != verdict.Pass {
			t.Errorf("%s: %v", s.Requirement, s.Verdict)
		}
	}
	compared := 0
	for _, c := range cases {
		for _, s := range c.Stops {
			if s.Travel == 0 || s.Derived == 0 {
				continue
			}
			compared++
			if s.Travel > 1.6*s.Derived {
				t.Errorf("%s: %s after %s: travel %.4f rad, derived %.4f rad",
					c.Name, s.Axis, s.Cause, s.Travel, s.Derived)
			}
		}
	}
	if compared < 20 {
		t.Errorf("only %d stops had a travel and a derived one", compared)
	}
}
