package plant

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"haltmark/bench/quantity"
)

// sheet is one column of testdata/plant/stations.txt, kept as it is printed.
type sheet struct {
	name string
	text map[string]string
}

// stations reads the six main axes of the three design stations.
func stations(t testing.TB) []sheet {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/plant/stations.txt")
	if err != nil {
		t.Fatal(err)
	}
	var sheets []sheet
	for line := range strings.Lines(string(raw)) {
		cells := strings.Fields(line)
		if len(cells) == 0 || cells[0] == "#" {
			continue
		}
		if sheets == nil {
			sheets = make([]sheet, len(cells)-1)
		}
		if len(cells) != len(sheets)+1 {
			t.Fatalf("row %q has %d cells, need %d", cells[0], len(cells), len(sheets)+1)
		}
		for i, cell := range cells[1:] {
			if cells[0] == "column" {
				sheets[i] = sheet{name: cell, text: map[string]string{}}
				continue
			}
			sheets[i].text[cells[0]] = cell
		}
	}
	if len(sheets) != 6 {
		t.Fatalf("%d columns of stations, need 6", len(sheets))
	}
	return sheets
}

// value reads a row, and half a unit of its last printed digit.
func (s sheet) value(row string) (value, half float64) {
	text, ok := s.text[row]
	if !ok {
		panic("no row " + row)
	}
	value, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(err)
	}
	_, decimals, _ := strings.Cut(text, ".")
	return value, 0.5 * math.Pow10(-len(decimals))
}

func (s sheet) get(row string) float64 {
	v, _ := s.value(row)
	return v
}

func (s sheet) span(row string) time.Duration { return seconds(s.get(row)) }

// axis is which main axis the column is about.
func (s sheet) axis() Axis {
	if strings.HasSuffix(s.name, ".el") {
		return Elevation
	}
	return Azimuth
}

// chain builds the limit chain.
func (s sheet) chain() LimitChain {
	beyond := func(row string) [2]quantity.Angle {
		d := s.get(row)
		return [2]quantity.Angle{
			quantity.Angle(s.get("software_lower_deg")-d) * quantity.Degree,
			quantity.Angle(s.get("software_upper_deg")+d) * quantity.Degree,
		}
	}
	c := LimitChain{
		PreLimit:   beyond("pre_limit_beyond_deg"),
		FinalLimit: beyond("final_limit_beyond_deg"),
		Buffer:     beyond("buffer_beyond_deg"),
	}
	c.Software[Lower] = quantity.Angle(s.get("software_lower_deg")) * quantity.Degree
	c.Software[Upper] = quantity.Angle(s.get("software_upper_deg")) * quantity.Degree
	stroke := quantity.Angle(s.get("buffer_stroke_deg")) * quantity.Degree
	c.Structure[Lower], c.Structure[Upper] = c.Buffer[Lower]-stroke, c.Buffer[Upper]+stroke
	return c
}

// parameters builds the mechanics of the column's axis.
func (s sheet) parameters() AxisParameters {
	motor := MotorParameters{
		Inertia:      quantity.Inertia(s.get("motor_inertia_t_m2")) * quantity.TonneSquareMetre,
		BrakeTorque:  quantity.Torque(s.get("brake_kn_m")) * quantity.KilonewtonMetre,
		BrakeEngage:  s.span("brake_engage_s"),
		BrakeRelease: s.span("brake_release_s"),
	}
	load := quantity.Inertia(s.get("load_inertia_t_m2")) * quantity.TonneSquareMetre
	return AxisParameters{
		Limits:       s.chain(),
		BufferEnergy: quantity.Energy(s.get("buffer_needed_j")),
		LoadInertia:  load,
		LoadCoulomb:  quantity.Torque(s.get("coulomb_kn_m")) * quantity.KilonewtonMetre,
		LoadViscous: quantity.Damping(s.get("viscous_kn_m_s_per_rad")) *
			quantity.KilonewtonMetreSecondPerRadian,
		Stiffness:        StiffnessFrom(load, quantity.Frequency(s.get("locked_rotor_hz"))),
		GearDampingRatio: s.get("gear_damping_ratio"),
		Backlash:         quantity.Angle(s.get("gear_play_deg")) * quantity.Degree,
		Unbalance:        quantity.Torque(s.get("unbalance_kn_m")) * quantity.KilonewtonMetre,
		Motors:           []MotorParameters{motor, motor},
	}
}

// duty builds what the axis is asked to do, with the delays common to all.
func (s sheet) duty() Duty {
	return Duty{
		FullRate: quantity.Rate(s.get("full_rate_deg_per_s")) * quantity.DegreePerSecond,
		StopRamp: quantity.Acceleration(s.get("stop_ramp_deg_per_s2")) *
			quantity.DegreePerSecondSquared,
		StopJerk:   quantity.Jerk(s.get("stop_jerk_deg_per_s3")) * quantity.DegreePerSecondCubed,
		PeakTorque: quantity.Torque(s.get("peak_torque_kn_m")) * quantity.KilonewtonMetre,
		WindTorque: WindTorqueMax(s.axis(), quantity.Length(s.get("dish_m")), 20),
		Reaction:   60 * time.Millisecond,
		Relay:      20 * time.Millisecond,
		BrakesLate: 200 * time.Millisecond,
	}
}

// polarization is a small axis, with figures of no station.
func polarization() AxisParameters {
	return AxisParameters{
		Travel:      [2]quantity.Angle{-95 * quantity.Degree, 95 * quantity.Degree},
		LoadInertia: 40, LoadCoulomb: 20, LoadViscous: 5,
		Backlash: 0.1 * quantity.Degree,
		Motors:   []MotorParameters{{Inertia: 20, BrakeTorque: 40}},
	}
}

// station builds plant parameters with one main axis as given, in both places.
func station(main AxisParameters) Parameters {
	return Parameters{Axes: [AxisCount]AxisParameters{
		main, main, polarization(), polarization(),
	}}
}

func mustNew(t testing.TB, set Parameters, step time.Duration) *Plant {
	t.Helper()
	p, err := New(set, step)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

const (
	step   = 250 * time.Microsecond
	degree = math.Pi / 180
)

// coils powers all brakes.
func coils(in *Input) {
	for m := range in.BrakeCoil {
		in.BrakeCoil[m] = true
	}
}

// release powers all brakes until all are off, nothing moving.
func release(p *Plant, in *Input) {
	external := in.External
	in.External = [AxisCount]float64{}
	coils(in)
	for range 4000 {
		p.Step(in)
	}
	in.External = external
}

// turn puts an axis and its motors at a rate, every body alike.
func (p *Plant) turn(axis Axis, rate float64) {
	p.state.Rate[axis] = rate
	first, count := axis.Motors()
	for k := first; k < first+count; k++ {
		p.state.MotorRate[k] = rate
	}
	if axis.Main() && p.main[axis].optional != nil && p.main[axis].optional.reflector != nil {
		p.main[axis].optional.reflector.rate = rate
	}
	p.wake()
}
