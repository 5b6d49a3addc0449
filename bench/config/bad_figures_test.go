package config

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"haltmark/bench/quantity"
)

// badFigures are files with a figure, a pair of them, or a word that cannot be: where
// the first complaint stands, a word of it, and how many there are.
func badFigures() map[string]struct {
	line  int
	says  string
	count int
} {
	return map[string]struct {
		line  int
		says  string
		count int
	}{
		"station_speed_loop_absurd.bad.yaml":    {100, "plausible is 0.05 Hz to 100 Hz", 1},
		"station_play_absurd.bad.yaml":          {92, "plausible is 0 deg to 1 deg", 1},
		"station_gear_absurd.bad.yaml":          {91, "no antenna has that", 1},
		"station_friction_negative.bad.yaml":    {97, "must not be below 0", 1},
		"station_inertia_nought.bad.yaml":       {87, "must be above 0", 1},
		"station_brake_absurd.bad.yaml":         {96, "at most 20 times the peak", 1},
		"station_not_a_number_spelled.bad.yaml": {83, "not a number with a unit", 1},
		"station_infinite.bad.yaml":             {83, "not a number with a unit", 1},
		"station_infinite_spelled.bad.yaml":     {22, "not a number with a unit", 1},
		"station_huge_exponent.bad.yaml":        {83, "not a number that can be held", 1},
		"station_range_value_twice.bad.yaml":    {87, "azimuth.load_inertia has value twice", 1},
		"station_range_above_value.bad.yaml":    {87, "outside its own range", 1},
		"station_rated_above_peak.bad.yaml":     {93, "more for long than for a moment", 1},
		"station_bias_absurd.bad.yaml":          {95, "at most half of the peak", 1},
		"station_loops_swapped.bad.yaml":        {101, "the outer loop is the slower one", 1},
		"station_standstill_fast.bad.yaml":      {26, "would count as standing", 2},
		"station_dish_absurd.bad.yaml":          {11, "plausible is 1 m to 100 m", 1},
		"station_span_days.bad.yaml":            {27, "plausible is 10 ms to 10 s", 1},
		"station_window_negative.bad.yaml":      {37, "must be above 0", 1},
		"station_range_negative.bad.yaml":       {96, "azimuth.brake_torque is -1.000 kN m", 1},
		"sheet_watchdog_negative.bad.yaml":      {7, "must not be below 0", 1},
		"sheet_velocity_absurd.bad.yaml":        {13, "max_velocity is 12500 %", 1},
		"sheet_quick_stop_absurd.bad.yaml":      {16, "plausible is 50 % to 10000 %", 1},
		"sheet_delay_absurd.bad.yaml":           {10, "plausible is 0 s to 1 s", 1},
		"contradict_watchdog_nought.bad.yaml":   {7, "watchdog of azimuth.1 is 0.000 s", 1},
		"contradict_quick_stop.bad.yaml":        {16, "at their peak torque the motors brake", 1},
		"contradict_sto_delay.bad.yaml":         {10, "owes no torque 30.0 ms after", 1},
		"contradict_max_velocity.bad.yaml":      {13, "never reach its full_rate", 1},
		"map_quantity_none.bad.yaml":            {11, `"worries"; no encoder has that`, 1},
		"map_device_none.bad.yaml":              {4, "need encoder, drive or interlock", 1},
	}
}

// A figure that no antenna has is refused on load, at its line and with what is
// plausible; the stations that ship are within every bound, as they load.
func TestBadFiles_ImpossibleFigures(t *testing.T) {
	for name, want := range badFigures() {
		err := load(name)
		file := name
		if strings.HasPrefix(name, "contradict_") { // the sheet is to blame
			file = strings.Replace(name, ".bad", "_sheet.bad", 1)
		}
		refused(t, err, file, want.line, want.says)
		var found Problems
		if errors.As(err, &found) && len(found) != want.count {
			t.Errorf("%s: says %d things, want %d:\n%v", name, len(found), want.count, err)
		}
	}
}

// A sheet that only contradicts its station is good by itself.
func TestBadFiles_ContradictingSheetsAreGood(t *testing.T) {
	found, err := filepath.Glob(filepath.Join(badFiles, "contradict_*_sheet.bad.yaml"))
	if err != nil || len(found) != 4 {
		t.Fatalf("%d sheets, %v", len(found), err)
	}
	for _, name := range found {
		if err := CheckSheet(name); err != nil {
			t.Error(err)
		}
	}
}

// Every bound can be read in its own dimension, and none is upside down.
func TestPlausible_BoundsMakeSense(t *testing.T) {
	for _, b := range plausible() {
		lowest, err := parse(b, b.lowest)
		highest, err2 := parse(b, b.highest)
		if err != nil || err2 != nil || lowest >= highest {
			t.Errorf("%+v: %v, %v", b, err, err2)
		}
	}
}

// Whatever a sheet, a map or a file of requirements holds, loading ends with it or with
// problems.
func FuzzFixtures(f *testing.F) {
	for _, name := range []string{"drives/main-axis-motor.yaml", "drives/servo-unit.yaml",
		"maps/encoder-input-registers.yaml", "maps/drive-axis-side.yaml",
		"requirements/limits.yaml", "controllers/standin.yaml"} {
		text, err := readFixture(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte("sheet: {}\n"))
	f.Add([]byte("points: [{quantity: speed, address: -1}]\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		of := func() *file { return &file{name: "fuzz.yaml", text: text} }
		r := &report{}
		readSheet(of(), "drive", r)
		readMap(of(), "", r)
		_ = r.err()
		path := write(t, t.TempDir(), "fuzz.yaml", string(text))
		for _, err := range []error{errorOf(LoadRequirements(path)), errorOf(LoadController(path))} {
			var problems Problems
			if err != nil && !errors.As(err, &problems) {
				t.Errorf("neither loaded nor problems: %v", err)
			}
		}
	})
}

func errorOf[T any](_ T, err error) error { return err }

func readFixture(name string) ([]byte, error) {
	return os.ReadFile(filepath.Join("../../fixtures", name))
}

func parse(b bound, text string) (float64, error) {
	si, _, err := quantity.Parse(b.of, text)
	return si, err
}
