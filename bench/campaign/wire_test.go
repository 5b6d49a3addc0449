package campaign_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"haltmark/bench/campaign"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
	"haltmark/fixtures"
)

// A station that lacks a wire of an axis's enable chain breaks the requirement of that
// wire, however quick its controller is.
func TestGate_FindsTheWireThatIsMissing(t *testing.T) {
	text, err := fixtures.Files.ReadFile("stations/demo.yaml")
	if err != nil {
		t.Fatal(err)
	}
	const whole = "  azimuth: [final_limit, isolator]"
	for left, want := range map[string]string{"isolator": "HR-018", "final_limit": "HR-098"} {
		path := filepath.Join(t.TempDir(), "unwired.yaml")
		changed := strings.Replace(string(text), whole, "  azimuth: ["+left+"]", 1)
		if err := os.WriteFile(path, []byte(changed), 0o600); err != nil {
			t.Fatal(err)
		}
		a, err := campaign.Assemble(campaign.Choice{Station: path, Controller: "standin",
			Features: []string{"limits", "interlock"}, Tags: "@" + want})
		if err != nil {
			t.Fatal(err)
		}
		cases, err := a.Plan(seed.Seed(1), 1, station.DefaultStep, 2).Do()
		if err != nil {
			t.Fatal(err)
		}
		broken := false
		for _, c := range cases {
			for _, o := range c.Outcomes {
				broken = broken || o.Requirement == want && o.Verdict == verdict.Fail
			}
		}
		if !broken {
			t.Errorf("with %s alone in the chain nothing breaks %s", left, want)
		}
	}
}
