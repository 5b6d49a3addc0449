package config

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"haltmark/fixtures"
)

// What contradicts another figure of the station is refused with its own line.
func TestContradictions_OfOneStation(t *testing.T) {
	text, err := fixtures.Files.ReadFile("stations/demo.yaml")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "changed.yaml")
	for _, row := range []struct{ from, to, at, says string }{
		{"stow_gust: 24 m/s", "stow_gust: 17 m/s", "stow_gust:", "no gust is below its mean"},
		{"survival: 55 m/s", "survival: 23 m/s", "survival:", "is stowed at 24.00 m/s first"},
		{"stow_pin: {at: 88 deg", "stow_pin: {at: 80 deg", "at: 80 deg", "put the pin there"},
		{"travel: [-96 deg, 96 deg]", "travel: [-90 deg, 96 deg]", "travel: [-90", "meet its end first"},
		{"bits: 22, turns: 1", "bits: 4, turns: 1", "bits: 4", "bits is 4; plausible is 12 to 31"},
		{"bits: 22, turns: 1", "bits: 11, turns: 1", "bits: 11", "bits is 11; plausible is"},
		{"bits: 22, turns: 1", "bits: 32, turns: 1", "bits: 32", "bits is 32; plausible is"},
		{"bits: 22, turns: 1", "bits: 22, turns: 0", "bits: 22, turns: 0", "turns is 0; need 1"},
		{"bits: 22, turns: 4", "bits: 22, turns: 1024", "bits: 22, turns: 1024",
			"turns is 1024; with 22 bits a turn that is more than 32 bits tell"},
	} {
		changed := strings.Replace(string(text), row.from, row.to, 1)
		line := 1 + strings.Count(changed[:strings.Index(changed, row.at)], "\n")
		if err := os.WriteFile(path, []byte(changed), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := LoadStation(path)
		if err == nil {
			t.Errorf("%s is good", row.to)
			continue
		}
		first := strings.SplitN(err.Error(), "\n", 2)[0]
		if want := "changed.yaml:" + strconv.Itoa(line) + ":"; !strings.Contains(first, want) ||
			!strings.Contains(first, row.says) {
			t.Errorf("%s says %q; want %s and %q", row.to, first, want, row.says)
		}
	}
}
