package main_test

import (
	"encoding/json"
	"strings"
	"testing"

	"haltmark/bench/station"
)

func TestFaults_JSON(t *testing.T) {
	out, _, code := haltmark(t, "faults", "--json")
	var all []struct {
		Name, Place, Does, Target string
		Targets                   []string
		Parameters                []struct {
			Name, Does, Quantity, Default, Example string
			Units, Choices                         []string
		}
	}
	if err := json.Unmarshal([]byte(out), &all); err != nil || code != 0 {
		t.Fatalf("exit code %d, %v", code, err)
	}
	if want := len(station.Faults()); len(all) != want || want < 90 {
		t.Errorf("%d faults, want the catalogue's %d", len(all), want)
	}
	for _, f := range all {
		set := map[string]string{}
		for _, p := range f.Parameters {
			if p.Does == "" || p.Quantity == "" || p.Default == "" && p.Example == "" {
				t.Errorf("%s: %+v lacks something", f.Name, p)
			}
			if p.Quantity != "whole number" && len(p.Units) == 0 && len(p.Choices) == 0 {
				t.Errorf("%s: %s tells no unit", f.Name, p.Name)
			}
			if set[p.Name] = p.Default; p.Default == "" {
				set[p.Name] = p.Example
			}
		}
		// What is printed can be used as it stands, on every target.
		for _, target := range f.Targets {
			if _, err := station.Faults().New(f.Name, target, set); err != nil {
				t.Errorf("%s %s: %v", f.Name, target, err)
			}
		}
	}
}

func TestFaults_GroupedInOrder(t *testing.T) {
	out, _, code := haltmark(t, "faults")
	physics, device, wire, targets := strings.Index(out, "physics ("),
		strings.Index(out, "\ndevice ("), strings.Index(out, "\nwire ("),
		strings.Index(out, "\nTargets, as a sentence names them")
	if code != 0 || physics != 0 || !(0 < device && device < wire && wire < targets) {
		t.Fatalf("exit code %d, groups at %d, %d, %d, %d", code, physics, device, wire, targets)
	}
	for _, want := range []string{
		"  brake_late on a motor\n      the brake closes later than its engage delay\n" +
			"      by: how much later; span in us, ms, s, min, h; 0 s to 24 h; default 200 ms\n",
		"  a main axis: azimuth, elevation\n",
		"  drive_trip on a motor, once\n",
	} {
		if strings.Count(out, want) != 1 {
			t.Errorf("not said: %q", want)
		}
	}
	if at := strings.Index(out, "  encoder_silent on"); at < wire {
		t.Error("a fault of the wire stands in another group")
	}
	for i, line := range strings.Split(out, "\n") {
		if strings.TrimRight(line, " ") != line {
			t.Errorf("line %d ends in blanks", i+1)
		}
	}
}
