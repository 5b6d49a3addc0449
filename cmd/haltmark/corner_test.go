package main_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A run with corners leaves the same bytes whatever the jobs, can be judged again, and
// says of each requirement which corner was worst.
func TestGate_CornersInTheSummary(t *testing.T) {
	t.Parallel()
	first, second := t.TempDir(), t.TempDir()
	gate := func(runs, jobs string) (string, int) {
		out, _, code := haltmark(t, "gate", "--tags", limitTrip, "--phases", "1", "--out", runs,
			"--corners", "worst", "--date", "2027-01-01", "--jobs", jobs)
		return out, code
	}
	out, code := gate(first, "1")
	gate(second, "2")
	compare(t, "two jobs", hashes(t, filepath.Join(first, "latest")),
		hashes(t, filepath.Join(second, "latest")))
	judged(t, first, out, code)

	text, err := os.ReadFile(filepath.Join(first, "latest", "summary.json"))
	if err != nil {
		t.Fatal(err)
	}
	var summary struct {
		Requirements []struct {
			ID     string
			Corner *struct {
				Corner   string
				Scenario int
				Worst    struct{ Margin *float64 }
			} `json:"worst_corner"`
		}
	}
	if err := json.Unmarshal(text, &summary); err != nil {
		t.Fatal(err)
	}
	found := false
	for _, r := range summary.Requirements {
		if r.ID == "HR-001" {
			found = r.Corner != nil && r.Corner.Corner != "" && r.Corner.Scenario > 1 &&
				r.Corner.Worst.Margin != nil
		}
	}
	report, err := os.ReadFile(filepath.Join(first, "latest", "report.html"))
	if !found || err != nil || !strings.Contains(string(report), "worst corner ") {
		t.Errorf("no worst corner of HR-001 in summary or report, %v", err)
	}
}

func TestGate_CornersBadInput(t *testing.T) {
	for flags, want := range map[string]string{
		"--corners some":             "--corners must be one of",
		"--corners all --clock wall": "--corners all: corners are judged in virtual time only",
	} {
		_, stderr, code := haltmark(t, append([]string{"gate", "--out", t.TempDir()},
			strings.Fields(flags)...)...)
		if code != 3 || !strings.Contains(stderr, want) {
			t.Errorf("%s: exit code %d, said %q", flags, code, stderr)
		}
	}
}
