package standin_test

import (
	"strings"
	"testing"

	"haltmark/bench/clock"
	"haltmark/bench/config"
	"haltmark/bench/link"
	"haltmark/bench/standin"
	"haltmark/bench/verdict"
)

// Each restraint that the controller answers has a defect of its own;
// every defect names the requirement that is to catch it.
func TestDefects_NamesAndRequirements(t *testing.T) {
	set, err := config.LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	byID := map[string]verdict.Requirement{}
	for _, r := range set.All {
		byID[r.ID] = r
	}
	names, wrongs, broken := map[string]bool{}, map[string]bool{}, map[string]int{}
	for _, d := range standin.Defects() {
		if names[d.Name] || d.Name == "" || strings.ContainsAny(d.Name, " -") {
			t.Errorf("name %q", d.Name)
		}
		if wrongs[d.Wrong] || len(strings.Fields(d.Wrong)) < 3 {
			t.Errorf("%s: described as %q", d.Name, d.Wrong)
		}
		names[d.Name], wrongs[d.Wrong] = true, true
		if d.Name == standin.Obstinate {
			continue
		}
		broken[d.Requirement]++
		// A brake that closes late is the controller's doing although the station's
		// chain answers for it in the end.
		r, ok := byID[d.Requirement]
		if !ok || (r.Answers != verdict.Controller && r.Measure != "brake_time") {
			t.Errorf("%s: %q is no requirement that the controller answers", d.Name, d.Requirement)
		}
	}
	if !names[standin.Obstinate] {
		t.Error("the extreme is missing")
	}
	restraints := 0
	for _, r := range set.All {
		if r.Kind == verdict.Restraint && r.Answers == verdict.Controller {
			restraints++
			if broken[r.ID] == 0 {
				t.Errorf("no defect breaks %s: %s", r.ID, r.Statement)
			}
		}
	}
	if restraints < 10 {
		t.Errorf("only %d restraints looked at", restraints)
	}
}

// The seats of every shipped station fit this controller: Start takes them all.
func TestStart_ShippedStations(t *testing.T) {
	sheet, err := config.LoadController("standin")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"demo", "small", "large"} {
		st, err := config.LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		set, devices := st.Standin(&sheet.Profile)
		c, stop := started(t, set, devices)
		c.Run(c.Now()+200e6, nil)
		stop()
	}
}

func started(t *testing.T, set standin.Settings, d standin.Devices) (*clock.Virtual, func()) {
	t.Helper()
	c := clock.NewVirtual()
	t.Cleanup(c.Close)
	k, err := standin.Start(c, link.NewMemory(c), set, d)
	if err != nil {
		t.Fatal(err)
	}
	return c, k.Stop
}

func TestFindDefect_UnknownName(t *testing.T) {
	_, err := standin.FindDefect("horn")
	if err == nil || !strings.Contains(err.Error(), `"horn"`) {
		t.Errorf("error %v", err)
	}
}
