package config_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"haltmark/bench/config"
)

// Every hazard of the shipped register has a requirement or says why there is none, and
// every requirement names a hazard of it.
func TestCheckRegister_Shipped(t *testing.T) {
	set, err := config.CheckRegister("hazards")
	if err != nil {
		t.Fatal(err)
	}
	if len(set.Hazards) < 27 || len(set.All) < 80 {
		t.Errorf("%d hazards, %d requirements", len(set.Hazards), len(set.All))
	}
	loaded, err := config.LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	if len(loaded.Hazards) != len(set.Hazards) {
		t.Errorf("%d hazards beside the requirements, %d in the register", len(loaded.Hazards),
			len(set.Hazards))
	}
}

// What is wrong with a register, and what does not fit its requirements, is told with
// file and line.
func TestCheckRegister_Wrong(t *testing.T) {
	whole, err := os.ReadFile(filepath.Join("..", "..", "fixtures", "hazards.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ name, old, new, want string }{
		{"unanswered without a reason", "    unanswered: The bench does not model the Sun yet.\n", "",
			"HZ-26, the Sun heats the feed or blinds the receiver: no requirement is about it"},
		{"answered and unanswered", "  - id: HZ-22\n",
			"  - id: HZ-22\n    unanswered: Nobody cared.\n",
			"HZ-22, a bypass stays on: it says that no requirement is about it; HR-015 is"},
		{"missing", "  - id: HZ-03\n", "  - id: HZ-63\n",
			"HR-020: hazard HZ-03 is not in the hazard register"},
		{"twice", "  - id: HZ-02\n", "  - id: HZ-01\n", "hazard HZ-01 stands twice"},
		{"id", "  - id: HZ-02\n", "  - id: HZ-2\n", `hazard id "HZ-2" is not HZ- and two digits`},
		{"unknown key", "    harms: feed and reflector", "    harm: feed and reflector",
			`unknown key "harm"`},
	} {
		text := strings.Replace(string(whole), row.old, row.new, 1)
		if text == string(whole) {
			t.Fatalf("%s: %q is not in the register", row.name, row.old)
		}
		name := filepath.Join(t.TempDir(), "register.yaml")
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		kind, err := config.KindOf(name)
		if err != nil || kind != config.KindRegister {
			t.Fatalf("%s: kind %q, %v", row.name, kind, err)
		}
		_, err = config.CheckRegister(name)
		if err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%s: %v; want %q", row.name, err, row.want)
		}
		if err != nil && !strings.Contains(err.Error(), ".yaml:") {
			t.Errorf("%s: %v; want file and line", row.name, err)
		}
	}
}
