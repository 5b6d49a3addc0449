package plant

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// The derived rows of stations.txt: every figure to half a unit of its last
// printed digit.
func TestDerive_DesignStations(t *testing.T) {
	for _, s := range stations(t) {
		a, d := s.parameters(), s.duty()
		f := Derive(a, d)
		const perS2 = quantity.DegreePerSecondSquared
		travel := func(v int) float64 { return f.CategoryZero[v].Travel.Degrees() }
		got := map[string]float64{
			"wind_kn_m":              d.WindTorque.KilonewtonMetres(),
			"assisting_deg_per_s2":   float64(f.AssistingAcceleration / perS2),
			"both_brakes_deg_per_s2": float64(f.BrakeDeceleration / perS2),
			"one_brake_deg_per_s2":   float64(f.OneBrakeDeceleration / perS2),
			"brake_delay_s":          f.BrakeDelay.Seconds(),
			"both_travel_deg":        travel(BothBrakes),
			"both_time_s":            f.CategoryZero[BothBrakes].Time.Seconds(),
			"weak_travel_deg":        travel(WeakBrakes),
			"one_travel_deg":         travel(OneBrake),
			"late_travel_deg":        travel(LateBrakes),
			"ramp_travel_deg":        f.RampStop.Travel.Degrees(),
			"ramp_time_s":            f.RampStop.Time.Seconds(),
			"kinetic_j":              f.KineticEnergy.Joules(),
			"buffer_needed_j":        f.BufferEnergyNeeded.Joules(),
			"stiffness_mn_m_per_rad": a.Stiffness.MeganewtonMetresPerRadian(),
		}
		for row, value := range got {
			want, half := s.value(row)
			if math.Abs(value-want) > half*(1+1e-6) {
				t.Errorf("%s %s = %.6g, want %g +-%g", s.name, row, value, want, half)
			}
		}
	}
}

// Stopping kinematics of testdata/SOURCES.md, computed there from the formulas.
func TestRampStop_ReferenceTable(t *testing.T) {
	for _, row := range []struct{ v, late, a, j, travel, time float64 }{
		{0.5, 0.10, 0.5, 0, 0.300, 1.10},
		{1.0, 0.20, 0.5, 0, 1.200, 2.20},
		{2.0, 0.15, 1.0, 0, 2.300, 2.15},
		{0.3, 0.25, 0.2, 0, 0.300, 1.75},
		{1.0, 0.05, 2.0, 0, 0.300, 0.55},
		{1.0, 0.20, 0.5, 1, 1.450, 2.70},
		{2.0, 0.15, 1.0, 4, 2.550, 2.40},
		{1.0, 0.02, 0.1, 0, 5.020, 10.02}, // category 0, friction only
		{0.5, 0.02, 0.1, 0, 1.260, 5.02},  // category 0, friction only
	} {
		got := RampStop(quantity.Rate(row.v)*quantity.DegreePerSecond, seconds(row.late),
			quantity.Acceleration(row.a)*quantity.DegreePerSecondSquared,
			quantity.Jerk(row.j)*quantity.DegreePerSecondCubed)
		near(t, "travel", got.Travel.Degrees(), row.travel, 1e-9)
		near(t, "time", got.Time.Seconds(), row.time, 1e-9)
	}
}

// The category 0 rows of testdata/SOURCES.md, four decimals.
func TestCategoryZeroStop_ReferenceTable(t *testing.T) {
	for _, row := range []struct{ v, delay, aw, ab, travel, time float64 }{
		{3, 0.075, 10, 39, 0.4956, 0.2043},
		{3, 0.075, 10, 20, 0.9563, 0.4500},
		{6, 0.05, 30, 150, 0.5719, 0.1125},
		{0.8, 0.125, 1.5, 5.4, 0.2367, 0.3782},
	} {
		got := CategoryZeroStop(quantity.Rate(row.v)*quantity.DegreePerSecond,
			seconds(row.delay), quantity.Acceleration(row.aw)*quantity.DegreePerSecondSquared,
			quantity.Acceleration(row.ab)*quantity.DegreePerSecondSquared)
		near(t, "travel", got.Travel.Degrees(), row.travel, 0.5001e-4)
		near(t, "time", got.Time.Seconds(), row.time, 0.5001e-4)
	}
}

// A push that the brakes do not outdo has no end; nor has a stop without a ramp.
func TestStops_WithoutEnd(t *testing.T) {
	for _, stop := range []Stop{
		CategoryZeroStop(1, time.Millisecond, 2, 2),
		CategoryZeroStop(1, time.Millisecond, 2, 1),
		RampStop(1, time.Millisecond, 0, 0),
	} {
		if !math.IsInf(float64(stop.Travel), 1) || stop.Time != math.MaxInt64 {
			t.Errorf("stop %+v, want one without end", stop)
		}
	}
}

// Below a^2/j the ramp is never reached: the halves of the speed go at the jerk
// alone, each in sqrt(v/j), which is elementary kinematics; at a^2/j both agree.
func TestRampStop_TooSlowForItsRamp(t *testing.T) {
	got := RampStop(0.25, 0, 1, 1)
	near(t, "travel", float64(got.Travel), 0.125, 1e-12)
	near(t, "time", got.Time.Seconds(), 1, 1e-9)
	below, at := RampStop(1-1e-12, 0, 1, 1), RampStop(1, 0, 1, 1)
	near(t, "travel at a^2/j", float64(below.Travel), float64(at.Travel), 1e-9)
}

// Dynamic pressure, Pa, at the speeds of testdata/SOURCES.md; and twice
// the wind is exactly four times the torque.
func TestWind_ReferenceTable(t *testing.T) {
	for _, row := range []struct{ speed, pressurePa float64 }{
		{13.411, 110.2}, {20.117, 247.9}, {26.822, 440.7},
		{44.704, 1224.1}, {53.645, 1762.6}, {55.880, 1912.6},
	} {
		near(t, "pressure", WindPressurePa(quantity.Speed(row.speed)), row.pressurePa, 0.06)
	}
	// The same table: torque at a coefficient of 0.1 and 20 m/s, kN m.
	near(t, "9 m", scaledWind(9, 20, 0.1).KilonewtonMetres(), 14.03, 0.005)
	near(t, "30 m", scaledWind(30, 20, 0.1).KilonewtonMetres(), 519.5, 0.06)
	for _, axis := range []Axis{Azimuth, Elevation} {
		single, double := WindTorqueMax(axis, 11, 17), WindTorqueMax(axis, 11, 34)
		if double != 4*single {
			t.Errorf("%v: %v at double wind, want four times %v", axis, double, single)
		}
	}
}

// The worst attitude is the largest of all, near 130 deg (testdata/SOURCES.md).
func TestWindTorqueMax_OverAllAttitudes(t *testing.T) {
	for _, axis := range []Axis{Azimuth, Elevation} {
		worst, where := 0.0, 0.0
		for deg := 0.0; deg < 360; deg += 0.05 {
			torque := math.Abs(float64(WindTorque(axis, 11, 20, quantity.Angle(deg*degree))))
			if torque > worst {
				worst, where = torque, deg
			}
		}
		near(t, axis.String(), worst, float64(WindTorqueMax(axis, 11, 20)), 1e-6*worst)
		if off := math.Min(math.Abs(where-130), math.Abs(where-230)); off > 5 {
			t.Errorf("%v: worst at %.1f deg, want near 130", axis, where)
		}
	}
	if WindTorqueMax(PolarizationH, 11, 20) != 0 {
		t.Error("a polarization axis feels wind")
	}
}

// Two masses and kinematics of testdata/SOURCES.md: the stiffness whose locked-rotor
// frequency is 1.45288 Hz, to half a unit of its last digit.
func TestStiffnessAndEnergy_ReferenceValues(t *testing.T) {
	near(t, "stiffness", float64(StiffnessFrom(1.2e5, 1.45288)), 1e7, 1e7*2*0.5e-5/1.45288)
	near(t, "energy", KineticEnergy(1.2e6, quantity.DegreePerSecond).Joules(), 182.77, 0.005)
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.9g, want %.9g +-%.2g", what, got, want, within)
	}
}
