package campaign_test

import (
	"errors"
	"slices"
	"testing"

	"haltmark/bench/campaign"
	"haltmark/bench/evidence"
	"haltmark/bench/scenario"
	"haltmark/bench/seed"
	"haltmark/bench/standin"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
)

// assembled is a campaign of the demo station and the stand-in.
func assembled(t *testing.T, c campaign.Choice) *campaign.Assembly {
	t.Helper()
	c.Station, c.Controller = "demo", "standin"
	a, err := campaign.Assemble(c)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// until carries out examples at one phase, which is another for each of them, and begins
// no more once seen, which is shown every case, has seen enough.
func until(
	t *testing.T, a *campaign.Assembly, phases int, examples []scenario.Example,
	seen func(*campaign.Plan, *campaign.Case) bool,
) {
	t.Helper()
	enough := errors.New("seen enough")
	p := a.Plan(seed.Seed(1), phases, station.DefaultStep, 2)
	p.Examples = examples
	p.Done = func(c *campaign.Case) error {
		defer c.Discard()
		if seen(p, c) {
			return enough
		}
		return nil
	}
	if _, err := p.Do(); err != nil && !errors.Is(err, enough) {
		t.Fatal(err)
	}
}

// failed lists the requirements that a case fails.
func failed(c *campaign.Case) []string {
	var all []string
	for _, o := range c.Outcomes {
		if o.Verdict == verdict.Fail {
			all = append(all, o.Requirement)
		}
	}
	return all
}

// Each seeded defect is caught by the requirement that is meant for it.
func TestDefects_CaughtByTheirRequirement(t *testing.T) {
	for _, d := range standin.Defects() {
		if d.Name == standin.Obstinate {
			continue
		}
		t.Run(d.Name, func(t *testing.T) {
			tags := "@" + d.Requirement
			if slices.Contains([]string{"HR-070", "HR-071", "HR-072", "HR-075", "HR-129",
				"HR-130"}, d.Requirement) {
				// No Rule is about these: they watch over all stops.
				tags = "@HR-020,@HR-050,@HR-057"
			}
			a, caught := assembled(t, campaign.Choice{Tags: tags, Defect: d.Name}), false
			until(t, a, 1, a.Examples, func(_ *campaign.Plan, c *campaign.Case) bool {
				caught = caught || slices.Contains(failed(c), d.Requirement)
				return caught
			})
			if !caught {
				t.Errorf("%s does not fail", d.Requirement)
			}
		})
	}
}

// A controller that reacts to nothing fails every reaction that it answers for. Of the
// examples of a requirement those after the first run only if that has not shown it.
func TestObstinate_FailsEveryReactionOfTheController(t *testing.T) {
	a := assembled(t, campaign.Choice{Defect: standin.Obstinate})
	open := map[string]bool{} // requirements that have not failed yet
	for _, q := range a.Requirements.All {
		if q.Kind == verdict.Reaction && q.Answers == verdict.Controller {
			open[q.ID] = true
		}
	}
	concerned := func(e scenario.Example) bool {
		return slices.ContainsFunc(e.Tags, func(tag string) bool { return open[tag[1:]] })
	}
	var first, rest []scenario.Example
	begun := map[string]bool{}
	for _, e := range a.Examples {
		switch rule := e.Path + e.Rule; {
		case !begun[rule] && concerned(e):
			begun[rule] = true
			first = append(first, e)
		default:
			rest = append(rest, e)
		}
	}
	seen := func(_ *campaign.Plan, c *campaign.Case) bool {
		for _, id := range failed(c) {
			delete(open, id)
		}
		return len(open) == 0
	}
	until(t, a, 1, first, seen)
	until(t, a, 1, slices.DeleteFunc(rest, func(e scenario.Example) bool {
		return !concerned(e)
	}), seen)
	for id := range open {
		t.Errorf("%s does not fail", id)
	}
}

// The healthy stand-in passes all of it, and no stop of the demo station is longer
// than 1.6 times what follows for a stiff axis: its gear's spring lets a
// load swing 1.2 to 1.6 times as far (testdata/SOURCES.md). A cause that falls right beside a
// control cycle may fall on its other side at double the step: one phase alone would not do.
func TestHealthy_PassesAndStopsNearTheDerivedTravel(t *testing.T) {
	a, compared := assembled(t, campaign.Choice{}), 0
	var outcomes []verdict.Outcome
	until(t, a, 4, a.Examples, func(p *campaign.Plan, c *campaign.Case) bool {
		outcomes = append(outcomes, c.Outcomes...)
		shown := p.Evidence(c)
		compared += stopsNearDerived(t, &shown)
		return false
	})
	for _, s := range verdict.Stand(a.Requirements.All, outcomes, nil) {
		if s.Verdict != verdict.Pass {
			t.Errorf("%s: %v", s.Requirement, s.Verdict)
		}
	}
	if compared < 20 {
		t.Errorf("only %d stops had a travel and a derived one", compared)
	}
}

// stopsNearDerived counts the stops of a case that have a derived travel.
func stopsNearDerived(t *testing.T, c *evidence.Case) int {
	compared := 0
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
	return compared
}
