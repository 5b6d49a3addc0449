package config

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/plant"
	"haltmark/bench/station"
	"haltmark/emulators/drive"
)

// safely loads the small station with other safe functions wired, beside a servo unit
// that has them all.
func safely(t *testing.T, wired string) (*Station, error) {
	t.Helper()
	dir := t.TempDir()
	station := patch{On: "stations/small.yaml", Load: "stations/small.yaml",
		Set: map[string]string{"wiring.safe_functions": wired}}
	unit := patch{On: "drives/servo-unit.yaml", Load: "stations/small.yaml",
		Insert: map[string]string{"safety.sls": allSafe}}
	var path string
	for _, p := range []patch{unit, station} { // the station last, which lies beside the unit
		e, err := p.apply()
		if err != nil {
			t.Fatal(err)
		}
		if path, err = p.lay(e, dir); err != nil {
			t.Fatal(err)
		}
	}
	return LoadStation(path)
}

const allSafe = `ss2: {time: 1.5 s, window: 0.1 deg}
sdi: {window: 0.05 deg}
sbc: true`

func TestSafeFunctions_AsWired(t *testing.T) {
	s, err := safely(t, "{azimuth: {sls: [local, maintenance], sdi: [pre_limit]}, "+
		"elevation: {ss2: [hatch], sbc: [pin, override_key]}}")
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
