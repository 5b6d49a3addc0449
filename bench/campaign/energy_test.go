package campaign_test

import (
	"math"
	"testing"

	"haltmark/bench/campaign"
	"haltmark/bench/plant"
	"haltmark/bench/station"
)

// Energy is kept: over every stop of every shipped scenario, on all three stations,
// what an axis held and what drives, wind and the other axis did to it is what became
// heat in brakes, friction, gears and buffers and what it holds still, within 0.5 %
// of what was turned over (the first law; nothing outside is needed to know it).
func TestStops_KeepTheirEnergy(t *testing.T) {
	for _, name := range []string{"demo", "small", "large"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			keepsEnergy(t, name)
		})
	}
}

func keepsEnergy(t *testing.T, name string) {
	a, err := campaign.Assemble(campaign.Choice{Station: name, Controller: "standin"})
	if err != nil {
		t.Fatal(err)
	}
	p := a.Plan(1, 1, station.DefaultStep, 1)
	p.Run.Books = true
	stops, worst := 0, 0.0
	for i := range p.Examples {
		e := &p.Examples[i]
		for axis, account := range p.Run.Do(e).Energy {
			turned := account.Opening + math.Abs(account.Drive) + math.Abs(account.Wind) +
				math.Abs(account.Coupled) + account.Heat()
			turned /= 2 // in and out again
			if turned < 1 {
				continue // a joule is no stop
			}
			stops++
			share := math.Abs(account.Missing()) / turned
			worst = max(worst, share)
			if share > 0.005 || math.IsNaN(share) {
				t.Errorf("%s:%d %s, %v: %.3g J of %.3g J are missing", e.Path, e.Line, e.Name,
					plant.Axis(axis), account.Missing(), turned)
			}
		}
	}
	if stops < 100 {
		t.Errorf("only %d stops were looked at", stops)
	}
	t.Logf("%d stops, at worst %.3f %% missing", stops, 100*worst)
}
