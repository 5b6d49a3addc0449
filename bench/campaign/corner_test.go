package campaign_test

import (
	"slices"
	"strings"
	"testing"

	"haltmark/bench/campaign"
	"haltmark/bench/evidence"
	"haltmark/bench/quantity"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
)

// overrun is how far elevation goes past its final limit, HR-007's measure, whose
// scenarios are few.
const overrun = "HR-007"

func cornered(
	t *testing.T, limit float64, which campaign.Corners, jobs int,
) (*campaign.Assembly, *campaign.Plan, []*campaign.Plan) {
	t.Helper()
	a, err := campaign.Assemble(campaign.Choice{Station: "demo", Controller: "standin",
		Tags: "@" + overrun + " && ~@matrix"})
	if err != nil {
		t.Fatal(err)
	}
	p := a.Plan(seed.Seed(1), 1, station.DefaultStep, jobs)
	if limit > 0 {
		p.Run.Rules.Limits = func(path string) (float64, quantity.Dimension, bool) {
			if path == "elevation.final_to_buffer" {
				return limit, quantity.DimAngle, true
			}
			return a.Station.Limit(path)
		}
	}
	corners, err := a.CornerPlans(p, which)
	if err != nil {
		t.Fatal(err)
	}
	return a, p, corners
}

// did carries plans out, and returns what is left of them in the order of numbers.
func did(t *testing.T, plans ...*campaign.Plan) []evidence.Case {
	t.Helper()
	var all []evidence.Case
	for _, p := range plans {
		cases, err := p.Do()
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range cases {
			all = append(all, p.Evidence(c))
		}
	}
	return all
}

func greatest(cases []evidence.Case) float64 {
	most := 0.0
	for i := range cases {
		for _, o := range cases[i].Outcomes {
			if o.Requirement == overrun && o.Axis == "elevation" {
				most = max(most, o.Value)
			}
		}
	}
	return most
}

// Weak brakes carry an axis further. Where the limit lies in between, the nominal
// station passes, and the run fails at that corner, by name.
func TestCorners_OneThatBreaksTheLimitFails(t *testing.T) {
	_, p, corners := cornered(t, 0, campaign.AllCorners, 2)
	at := slices.IndexFunc(corners, func(c *campaign.Plan) bool { return c.Corner == "brakes 80 %" })
	if at < 0 {
		t.Fatal("no corner with weak brakes")
	}
	nominal, weak := greatest(did(t, p)), greatest(did(t, corners[at]))
	if !(weak > 1.02*nominal && nominal > 0) {
		t.Fatalf("past the final limit %g rad, with weak brakes %g rad", nominal, weak)
	}

	a, p, corners := cornered(t, (nominal+weak)/2, campaign.WorstCorners, 2)
	cases := did(t, append([]*campaign.Plan{p}, corners...)...)
	m := a.Manifest(p, corners...)
	run := campaign.Total(m, a.Rules(), cases, nil)
	if run.ExitCode != verdict.ExitFail || run.Ended() != len(run.Cases) {
		t.Errorf("exit code %d, %d of %d ended; want 1 and all", run.ExitCode, run.Ended(),
			len(run.Cases))
	}
	c, o := run.WorstCorner(overrun)
	if c == nil || c.Corner != "brakes 80 %" || o.Verdict != verdict.Fail || o.Value != weak {
		t.Fatalf("the worst corner is %+v", o)
	}
	if !strings.HasSuffix(c.Name, ", at brakes 80 %") || c.Number <= len(p.Examples) {
		t.Errorf("the case is number %d, %q", c.Number, c.Name)
	}
	named := func(why string) bool {
		return strings.HasPrefix(why, overrun) && strings.HasSuffix(why, "; at brakes 80 %")
	}
	if !slices.ContainsFunc(run.Reasons, named) {
		t.Errorf("no reason names the corner: %q", run.Reasons)
	}
	for i := range cases {
		if cases[i].Corner == "" && cases[i].Verdict != verdict.Pass {
			t.Errorf("%s: %v at nominal", cases[i].Name, cases[i].Verdict)
		}
		if cases[i].Number != m.Scenarios[i].Number || cases[i].Name != m.Scenarios[i].Name ||
			cases[i].Corner != m.Scenarios[i].Corner {
			t.Errorf("case %d is %q, planned was %q", i, cases[i].Name, m.Scenarios[i].Name)
		}
	}
}

// A corner differs from nominal by nothing but the corner: neither by its seed nor by
// when its causes strike. Which are worst does not depend on the number of jobs.
func TestCorners_SameSeedsWhateverTheJobs(t *testing.T) {
	_, p, one := cornered(t, 0, campaign.WorstCorners, 1)
	_, _, two := cornered(t, 0, campaign.WorstCorners, 2)
	a, b := p.PlannedWith(one), p.PlannedWith(two)
	if len(a) != len(b) || len(a) <= len(p.Examples) {
		t.Fatalf("%d and %d scenarios, %d of them at nominal", len(a), len(b), len(p.Examples))
	}
	seeds := map[int]uint64{}
	for i := range a {
		if a[i].Name != b[i].Name || a[i].Corner != b[i].Corner {
			t.Errorf("%q with one job, %q with two", a[i].Name, b[i].Name)
		}
		if a[i].Corner == "" {
			seeds[a[i].Line] = a[i].Seed
		} else if a[i].Seed != seeds[a[i].Line] {
			t.Errorf("%q has another seed than at nominal", a[i].Name)
		}
	}
}
