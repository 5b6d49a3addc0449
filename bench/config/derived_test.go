package config

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"haltmark/bench/quantity"
	"haltmark/fixtures"
)

const (
	kilonewtonMetre = float64(quantity.KilonewtonMetre)
	degree          = float64(quantity.Degree)
	degPerS2        = float64(quantity.DegreePerSecondSquared)
	mnMPerRad       = float64(quantity.MeganewtonMetrePerRadian)
	revPerMin       = float64(quantity.RevolutionPerMinute)
)

// derivedRows are the parameters of the derived rows of testdata/plant/stations.txt.
var derivedRows = map[string]struct {
	path string // below the axis
	unit float64
}{
	"wind_kn_m":              {"derived.wind_torque", kilonewtonMetre},
	"assisting_deg_per_s2":   {"derived.assisting_acceleration", degPerS2},
	"both_brakes_deg_per_s2": {"derived.brake_deceleration", degPerS2},
	"one_brake_deg_per_s2":   {"derived.one_brake_deceleration", degPerS2},
	"brake_delay_s":          {"derived.brake_delay", 1},
	"both_travel_deg":        {"derived.category0_travel", degree},
	"both_time_s":            {"derived.category0_time", 1},
	"weak_travel_deg":        {"derived.category0_travel_weak_brakes", degree},
	"one_travel_deg":         {"derived.category0_travel_one_brake", degree},
	"late_travel_deg":        {"derived.category0_travel_late_brakes", degree},
	"ramp_travel_deg":        {"derived.ramp_travel", degree},
	"ramp_time_s":            {"derived.ramp_time", 1},
	"kinetic_j":              {"derived.kinetic_energy", 1},
	"buffer_needed_j":        {"derived.buffer_energy_needed", 1},
	"stiffness_mn_m_per_rad": {"derived.stiffness", mnMPerRad},
	"motor_rpm":              {"motor_rate", revPerMin},
}

// The figures were worked out apart from this code, and hold to half a unit of the last
// printed digit.
func TestDerived_StationsTable(t *testing.T) {
	text, err := os.ReadFile("../../testdata/plant/stations.txt")
	if err != nil {
		t.Fatal(err)
	}
	stations := map[string]*Station{}
	for _, name := range Embedded(kindStation) {
		if stations[name], err = LoadStation(name); err != nil {
			t.Fatal(err)
		}
	}
	var columns []string // such as demo.az
	compared := 0
	for line := range strings.Lines(string(text)) {
		fields := strings.Fields(line)
		if fields[0] == "column" {
			columns = fields[1:]
		}
		row, ok := derivedRows[fields[0]]
		if !ok {
			continue
		}
		for i, printed := range fields[1:] {
			name, axis, _ := strings.Cut(columns[i], ".")
			path := map[string]string{"az": "azimuth.", "el": "elevation."}[axis] + row.path
			follows(t, stations[name], path, row.unit, printed)
			compared++
		}
	}
	if compared != 6*len(derivedRows) {
		t.Errorf("%d figures compared, want %d", compared, 6*len(derivedRows))
	}
}

// follows holds a derived parameter of a station against a printed figure.
func follows(t *testing.T, s *Station, path string, unit float64, printed string) {
	t.Helper()
	want, err := strconv.ParseFloat(printed, 64)
	if err != nil {
		t.Fatal(err)
	}
	_, decimals, _ := strings.Cut(printed, ".")
	half := math.Pow(10, -float64(len(decimals))) / 2
	p, ok := s.Lookup(path)
	if got := p.Value / unit; !ok || math.Abs(got-want) > half*(1+1e-9) {
		t.Errorf("%s: %s is %v (%v); want %s", s.Name(), path, got, ok, printed)
	}
	if !p.Derived || p.Origin != quantity.Assumed {
		t.Errorf("%s: %s is not marked as derived from assumed figures", s.Name(), path)
	}
}

// Times that follow from what the stations have in common (testdata/SOURCES.md), seconds,
// for small, demo and large.
func TestDerived_Times(t *testing.T) {
	rows := []struct {
		path string
		want [3]float64
	}{
		// 20 ms + engage delay + 20 ms
		{"brake.time", [3]float64{0.085, 0.110, 0.150}},
		// SS1-t + 50 ms
		{"stop.category1_torque_off", [3]float64{1.55, 1.95, 3.05}},
		// silent for 100 ms, + 50 ms (category 0) or + SS1-t + 50 ms (category 1)
		{"stop.silence_category0_torque_off", [3]float64{0.15, 0.15, 0.15}},
		{"stop.silence_category1_torque_off", [3]float64{1.65, 2.05, 3.15}},
		// disagreement time + 40 ms, + SS1-t + 50 ms
		{"stop.doubt_torque_off", [3]float64{1.79, 2.19, 3.49}},
		// 45 ms and 20 ms
		{"overspeed.time", [3]float64{0.065, 0.065, 0.065}},
	}
	for column, name := range []string{"small", "demo", "large"} {
		s, err := LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			if got, _, ok := s.Limit(row.path); !ok || math.Abs(got-row.want[column]) > 1e-12 {
				t.Errorf("%s: %s is %v; want %v", name, row.path, got, row.want[column])
			}
		}
	}
}

// The ranges of the corners: inertia +-15 %, friction +-50 %, brakes 80 % and 120 %.
func TestParameters_RangesOfTheCorners(t *testing.T) {
	s, err := LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	for path, share := range map[string]float64{"azimuth.load_inertia": 0.15,
		"elevation.motor_inertia": 0.15, "azimuth.coulomb_friction": 0.5,
		"elevation.viscous_friction": 0.5, "azimuth.brake_torque": 0.2,
		"polarization_h.load_inertia": 0.15, "azimuth.full_rate": 0} {
		p, ok := s.Lookup(path)
		low, high := p.Value*(1-share), p.Value*(1+share)
		if !ok || math.Abs(p.Lowest-low) > 1e-9*p.Value || math.Abs(p.Highest-high) > 1e-9*p.Value {
			t.Errorf("%s runs from %v to %v; want %v to %v", path, p.Lowest, p.Highest, low, high)
		}
	}
	for _, p := range s.Parameters() {
		if p.Origin != quantity.Assumed || p.Where == "" {
			t.Errorf("%s: origin %v, where %q; all figures are assumed", p.Path, p.Origin, p.Where)
		}
	}
}

// Distances of the demo station's limits, by subtraction, and shares of full rate: a tenth
// by hand, overspeed at 115 % (common practice), deg and deg/s.
func TestDerived_LimitChainAndRates(t *testing.T) {
	s, err := LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]float64{
		"azimuth.software_to_pre":        2.6,
		"azimuth.pre_to_final":           2.8,
		"azimuth.final_to_buffer":        1.3,
		"azimuth.final_to_structure":     2.2,
		"azimuth.pre_limit_at.lower":     -207.6,
		"azimuth.structure_at.upper":     212.6,
		"elevation.final_limit_at.lower": 2.2,
		"azimuth.hand_rate":              0.24,
		"azimuth.overspeed_rate":         2.76,
		"polarization_v.overspeed_rate":  1.725,
	} {
		if got, _, ok := s.Limit(path); !ok || math.Abs(got/degree-want) > 1e-9 {
			t.Errorf("%s is %v; want %v", path, got/degree, want)
		}
	}
}

// A figure with a better origin keeps it; what follows is as weak as the weakest.
func TestParameters_OriginOfOneFigure(t *testing.T) {
	text, err := fixtures.Files.ReadFile("stations/demo.yaml")
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.Replace(string(text), "full_rate: 2.4 deg/s",
		"full_rate: {value: 2.4 deg/s, lowest: 2.3 deg/s, highest: 2.4 deg/s, "+
			"origin: measured on site}", 1)
	s, _, err := assemble(&file{name: "measured.yaml", text: []byte(changed)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	rate, _ := s.Lookup("azimuth.full_rate")
	if rate.Origin != quantity.MeasuredOnSite || rate.Where != "measured.yaml:84" ||
		math.Abs(rate.Lowest/degree-2.3) > 1e-12 {
		t.Errorf("full rate is %+v", rate)
	}
	if hand, _ := s.Lookup("azimuth.hand_rate"); hand.Origin != quantity.Assumed {
		t.Errorf("what follows is %v", hand.Origin)
	}
}
