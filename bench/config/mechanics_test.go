package config

import (
	"math"
	"testing"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// everyMechanic is what only some azimuths have.
const everyMechanic = `reflector: {mount_share: 35 %, frequency: 7 Hz, damping: 0.01}
zenith: {lighter: 20 t m^2}
cable_wrap: {neutral: -5 deg, reach: 230 deg}
`

// Sections that are there reach the plant; those that are not leave it as it is.
func TestMechanics_ReachThePlant(t *testing.T) {
	s, err := patched(t, patch{On: demoFile,
		Set: map[string]string{"elevation.stow_pin.shear": "400 kN m"},
		Insert: map[string]string{
			"azimuth.unbalance":   everyMechanic,
			"elevation.unbalance": "gravity: {phase: 10 deg}"}})
	if err != nil {
		t.Fatal(err)
	}
	p := s.Station()
	az, el := p.Plant.Axes[plant.Azimuth], p.Plant.Axes[plant.Elevation]
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%s is %v; want %v", what, got, want)
		}
	}
	near("mount's share", float64(az.Reflector.MountShare), 0.35)
	near("lighter", az.LighterAtZenith.TonneSquareMetres(), 20)
	near("neutral", az.Wrap.Neutral.Degrees(), -5)
	near("reach", az.Wrap.Reach.Degrees(), 230)
	near("gravity", el.Gravity.KilonewtonMetres(), 9)
	near("phase", el.GravityPhase.Degrees(), 10)
	near("pin", el.Pin.At.Degrees(), 88)
	near("shear", el.Pin.Shear.KilonewtonMetres(), 400)
	// By hand: (2 pi 3.6)^2 * 95e3 * (0.35 + 0.65/(1 - (3.6/7)^2)) N m/rad.
	if got := float64(az.Stiffness) / 1e6; math.Abs(got-59.967) > 0.0005 {
		t.Errorf("stiffness is %.4f MN m/rad; want 59.967", got)
	}
	if row, _ := s.Lookup("azimuth.derived.stiffness"); row.Value != float64(az.Stiffness) {
		t.Errorf("the table has %v", row)
	}
	// 20 m/s alone: the unbalance is the plant's.
	if got := p.External[plant.Elevation].KilonewtonMetres(); math.Abs(got-25.61) > 0.005 {
		t.Errorf("elevation is pushed by %v kN m; want 25.61", got)
	}
	if _, err := plant.New(p.Plant, plantStep); err != nil {
		t.Error(err)
	}
	bare := demo(t).Station().Plant.Axes[plant.Azimuth]
	if bare.Reflector != (plant.ReflectorParameters{}) || bare.Wrap != (plant.WrapParameters{}) {
		t.Error("a station without sections has parts")
	}
	near("bare stiffness", float64(bare.Stiffness), float64(plant.StiffnessFrom(
		bare.LoadInertia, 3.6*quantity.Hertz)))
}
