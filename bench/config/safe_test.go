package config

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/plant"
	"haltmark/bench/station"
	"haltmark/emulators/drive"
)

// safeKeys is what the small station wires.
const safeKeys = `    azimuth: {sls: [local, maintenance]}
    elevation: {sls: [local, maintenance]}
`

// safely loads the small station with other safe functions wired, beside sheets of
// which the servo unit's has them all.
func safely(t *testing.T, wired, safety string) (*Station, int, error) {
	t.Helper()
	dir := t.TempDir()
	sheet := strings.Replace(read(t, "drives/servo-unit.yaml"),
		"  sls: {rate: 25 %, time: 1.5 s}", safety, 1)
	write(t, dir, "servo-unit.yaml", sheet)
	text := read(t, "stations/small.yaml")
	before, _, found := strings.Cut(text, safeKeys)
	if !found {
		t.Fatal("the small station wires something else")
	}
	path := write(t, dir, "station.yaml", strings.Replace(text, safeKeys, wired, 1))
	s, err := LoadStation(path)
	return s, strings.Count(before, "\n") + 1, err
}

const allSafe = `  ss2: {time: 1.5 s, window: 0.1 deg}
  sls: {rate: 25 %, time: 1.5 s}
  sdi: {window: 0.05 deg}
  sbc: true`

func TestSafeFunctions_AsWired(t *testing.T) {
	s, _, err := safely(t, `    azimuth: {sls: [local, maintenance], sdi: [pre_limit]}
    elevation: {ss2: [hatch], sbc: [pin, override_key]}
`, allSafe)
	if err != nil {
		t.Fatal(err)
	}
	want := []station.SafeInput{
		{Axis: plant.Azimuth, Function: drive.RequestSLS, Contact: station.ContactLocal},
		{Axis: plant.Azimuth, Function: drive.RequestSLS, Contact: station.ContactMaintenance},
		{Axis: plant.Azimuth, Function: station.SafeDirection, Contact: station.ContactPreLimit},
		{Axis: plant.Elevation, Function: drive.RequestSS2, Contact: station.ContactHatch},
		{Axis: plant.Elevation, Function: drive.RequestSBC, Contact: station.ContactPin},
		{Axis: plant.Elevation, Function: drive.RequestSBC, Contact: station.ContactOverride},
	}
	if diff := cmp.Diff(want, s.Station().Wiring.Safe); diff != "" {
		t.Error(diff)
	}
	if s, err = LoadStation("demo"); err != nil || s.Station().Wiring.Safe != nil {
		t.Errorf("the demo station has %v wired, %v", s.Station().Wiring.Safe, err)
	}
}

// One line for each thing that cannot be, with its place.
func TestSafeFunctions_Refuses(t *testing.T) {
	const axis = "    azimuth: "
	for _, row := range []struct{ wired, safety, want string }{
		{axis + "{sls: [local, window]}", allSafe, `wiring.safe_functions.azimuth.sls: "window" is ` +
			"not known here; need relay, local, maintenance, hatch, ladder, pin, isolator or " +
			"override_key"},
		{axis + "{sdi: [local]}", allSafe, `wiring.safe_functions.azimuth.sdi: "local" is not known ` +
			"here; need pre_limit or final_limit"},
		{axis + "{sls: [pre_limit]}", allSafe, `"pre_limit" is not known here`},
		{axis + "{slss: [local]}", allSafe, `unknown key "slss"; section safe inputs has none of ` +
			"that name; did you mean sls?"},
		{axis + "{ss2: [hatch]}", "  sls: {rate: 25 %, time: 1.5 s}", "wiring.safe_functions." +
			"azimuth.ss2 is wired; the sheet servo-unit of azimuth.1 has no such safe function; add " +
			"safety.ss2 to it or remove the wire"},
		{axis + "{sls: [maintenance]}", "  sls: {rate: 11 %, time: 1.5 s}", "wiring.safe_functions." +
			"azimuth.sls limits the speed to 0.550 deg/s; the hand control moves the axis, overspeed " +
			"included, at 0.575 deg/s; raise safety.sls.rate of the sheet"},
		{"    polarization_h: {sdi: [pre_limit]}", allSafe, "polarization_h has no limit switches"},
		{"    polarization_h: {sls: [pin]}", allSafe, `"pin" is not known here; need relay, local`},
	} {
		_, line, err := safely(t, row.wired+"\n", row.safety)
		refused(t, err, "station.yaml", line, row.want)
	}
}
