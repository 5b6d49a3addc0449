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
		{"rate: 0.30 deg/s", "rate: 1.5 deg/s", "rate: 1.5 deg/s", "a lie of half the speed would pass"},
		{"angle: 0.5 deg", "angle: 10 deg", "angle: 10 deg", "at its final limit"},
		{"watchdog: 200 ms", "watchdog: 1.9 s", "watchdog: 1.9 s", "crosses from pre-limit"},
		{"shear: 350 kN m", "shear: 100 kN m", "stow_pin: {at: 88", "give a stronger pin"},
		{"ss1_time: 1.9 s", "ss1_time: 20 s", "ss1_time: 20 s", "give at most 3 times that"},
		{"beam_width: 0.47 deg", "beam_width: 5 deg", "beam_width: 5", "has about 0.4"},
		{"acceleration: 1.5 deg/s^2", "acceleration: 0.0015 deg/s^2", "acceleration: 0.0015",
			"would take more than 60 s"},
		{"peak_torque: 400 N m", "peak_torque: 400 kN m", "peak_torque: 400 kN", "10 times as much"},
		{"coulomb_friction: {value: 60 N m", "coulomb_friction: {value: 600 N m",
			"coulomb_friction: {value: 600 N", "would not turn the axis"},
		{"locked_rotor: 3.6 Hz", "locked_rotor: 0.5 Hz", "speed_loop: 8 Hz", "does not hold it"},
		{"[5 deg, 92 deg]", "[5 deg, 200 deg]", "software_limit: [5 deg", "plausible is 20 deg"},
		{"torque_off: 30 ms", "torque_off: 10 s", "final_limit_torque_off: 10", "plausible is 1 ms"},
		{"name: encoder-elevation", "name: encoder-azimuth", "elevation:\n    {name: encoder-azimuth",
			"give it another name"},
		{"cycle: 20 ms", "cycle: 101 ms", "cycle: 101", "two cycles must fit"},
		{"gear: 7200", "gear: 72", "gear: 72", "would turn 29 times a minute"},
		{"gear: 7200", "gear: 72000", "gear: 72000", "would turn 28800 times a minute"},
		{"doubt: 60 s", "doubt: 60 ms", "doubt: 60 ms", "plausible is 3 s"},
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

// A drive sheet is held against the station that names it, and blamed in its own line.
func TestContradictions_OfASheet(t *testing.T) {
	read := func(name string) string {
		text, err := fixtures.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	dir := t.TempDir()
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	const sheet, heat = "sheet: servo-unit", "resistor_heat: 60000 J"
	write("small.yaml", strings.ReplaceAll(read("stations/small.yaml"), sheet, "sheet: weak"))
	write("weak.yaml", strings.NewReplacer(sheet, "sheet: weak", heat, "resistor_heat: 60 J").
		Replace(read("drives/servo-unit.yaml")))
	_, err := LoadStation(filepath.Join(dir, "small.yaml"))
	if err == nil || !strings.Contains(err.Error(), "weak.yaml:38: link.resistor_heat of azimuth.1 "+
		"is 60.0 J; one stop from full rate brings 72.3 J") {
		t.Errorf("a resistor that bears no stop: %v", err)
	}
}
