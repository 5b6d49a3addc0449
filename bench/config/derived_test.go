package config

import (
	"math"
	"strings"
	"testing"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/fixtures"
)

// derivedRow is a row of STATIONS.md, "What follows from them", as printed there:
// small az, small el, demo az, demo el, large az, large el.
type derivedRow struct {
	path    string // below the axis
	unit    float64
	printed float64 // half a unit of the last printed digit
	want    [6]float64
}

const (
	kilonewtonMetre = float64(quantity.KilonewtonMetre)
	degree          = float64(quantity.Degree)
	degPerS2        = float64(quantity.DegreePerSecondSquared)
	mnMPerRad       = float64(quantity.MeganewtonMetrePerRadian)
	revPerMin       = float64(quantity.RevolutionPerMinute)
)

var derivedRows = []derivedRow{
	{"derived.wind_torque", kilonewtonMetre, 0.005,
		[6]float64{6.05, 5.04, 30.72, 25.61, 623.26, 519.45}},
	{"derived.assisting_acceleration", degPerS2, 0.0005,
		[6]float64{18.248, 21.783, 11.357, 14.368, 4.251, 5.898}},
	{"derived.brake_deceleration", degPerS2, 0.005,
		[6]float64{97.86, 103.13, 60.62, 67.88, 17.60, 21.44}},
	{"derived.one_brake_deceleration", degPerS2, 0.005,
		[6]float64{49.61, 52.20, 31.05, 34.67, 9.07, 11.03}},
	{"derived.brake_delay", 1, 0.0005,
		[6]float64{0.065, 0.065, 0.090, 0.090, 0.130, 0.130}},
	{"derived.category0_travel", degree, 0.00005,
		[6]float64{0.6039, 0.4221, 0.3809, 0.2804, 0.2085, 0.1665}},
	{"derived.category0_time", 1, 0.00005,
		[6]float64{0.1427, 0.1254, 0.1595, 0.1441, 0.2313, 0.2115}},
	{"derived.category0_travel_weak_brakes", degree, 0.00005,
		[6]float64{0.6808, 0.4717, 0.4184, 0.3062, 0.2320, 0.1854}},
	{"derived.category0_travel_one_brake", degree, 0.00005,
		[6]float64{0.9737, 0.6707, 0.5593, 0.4084, 0.3297, 0.2714}},
	{"derived.category0_travel_late_brakes", degree, 0.00005,
		[6]float64{2.5734, 2.2208, 1.5026, 1.3789, 0.6773, 0.6787}},
	{"derived.ramp_travel", degree, 0.00005,
		[6]float64{2.8833, 1.7850, 1.7171, 0.9871, 0.9813, 0.5217}},
	{"derived.ramp_time", 1, 0.00005,
		[6]float64{1.0933, 0.9600, 1.3709, 1.1739, 2.3933, 2.0267}},
	{"derived.kinetic_energy", 1, 0.05,
		[6]float64{72.3, 33.6, 136.0, 53.8, 818.8, 251.3}},
	{"derived.buffer_energy_needed", 1, 0.5,
		[6]float64{733, 576, 3258, 2334, 36667, 27125}},
	{"derived.stiffness", mnMPerRad, 0.0005,
		[6]float64{13.618, 12.368, 48.606, 42.033, 628.694, 513.062}},
	{"motor_rate", revPerMin, 0.5,
		[6]float64{2000, 1750, 2880, 2880, 3840, 3600}},
}

// The figures are STATIONS.md's, which were computed apart from this code.
func TestDerived_StationsTable(t *testing.T) {
	for column, name := range []string{"small", "demo", "large"} {
		s, err := LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		for axis := range plant.MainAxes {
			for _, row := range derivedRows {
				path := plant.AxisNames[axis] + "." + row.path
				p, ok := s.Lookup(path)
				got, want := p.Value/row.unit, row.want[2*column+axis]
				if !ok || math.Abs(got-want) > row.printed*(1+1e-9) {
					t.Errorf("%s: %s is %v (%v); want %v", name, path, got, ok, want)
				}
				if !p.Derived || p.Origin != quantity.Assumed {
					t.Errorf("%s: %s is not marked as derived from assumed figures", name, path)
				}
			}
		}
	}
}

// STATIONS.md, "Common to all" and the first table: times that follow, seconds,
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

// Corners of STATIONS.md: inertia +-15 %, friction +-50 %, brakes 80 % and 120 %.
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

// Distances of STATIONS.md's axes table, by subtraction, and shares of HAZARDS.md
// (a tenth of full rate by hand, overspeed at 115 %), demo azimuth, deg and deg/s.
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
	if rate.Origin != quantity.MeasuredOnSite || rate.Where != "measured.yaml:83" ||
		math.Abs(rate.Lowest/degree-2.3) > 1e-12 {
		t.Errorf("full rate is %+v", rate)
	}
	if hand, _ := s.Lookup("azimuth.hand_rate"); hand.Origin != quantity.Assumed {
		t.Errorf("what follows is %v", hand.Origin)
	}
}
