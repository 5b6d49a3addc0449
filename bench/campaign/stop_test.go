package campaign_test

import (
	"errors"
	"testing"

	"haltmark/bench/campaign"
	"haltmark/bench/seed"
	"haltmark/bench/station"
)

// A campaign that is told to stop keeps what ended, tries nothing more and says so.
func TestDo_Stops(t *testing.T) {
	a, err := campaign.Assemble(campaign.Choice{Station: "demo", Controller: "standin",
		Tags: "@smoke"})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ after, want int }{{0, 0}, {1, 1}, {len(a.Examples), 3}} {
		p := a.Plan(seed.Seed(1), 1, station.DefaultStep, 1)
		stop, told := make(chan struct{}), 0
		p.Stop = stop
		if row.after == 0 {
			close(stop)
		}
		p.Done = func(*campaign.Case) error {
			if told++; told == row.after {
				close(stop)
			}
			return nil
		}
		cases, err := p.Do()
		whole := row.want == len(a.Examples)
		if errors.Is(err, campaign.ErrStopped) == whole || !whole && told == len(cases) {
			t.Errorf("stopped after %d: %d of %d ended, %v", row.after, told, len(cases), err)
		}
		if told < row.want {
			t.Errorf("stopped after %d: only %d were told of", row.after, told)
		}
	}
}
