package config

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// demoWith is the demo station with lines added to azimuth and elevation.
func demoWith(t *testing.T, azimuth, elevation string) (*Station, error) {
	t.Helper()
	raw, err := os.ReadFile("../../fixtures/stations/demo.yaml")
	if err != nil {
		t.Fatal(err)
	}
	whole := regexp.MustCompile(`(?m)^    stow_pin: .*\n`).ReplaceAllString(string(raw), "")
	for _, row := range [][2]string{
		{"    unbalance: 0 kN m\n", azimuth}, {"    unbalance: 9 kN m\n", elevation},
	} {
		if strings.Count(whole, row[0]) != 1 {
			t.Fatalf("%q is not there once", row[0])
		}
		whole = strings.Replace(whole, row[0], row[0]+row[1], 1)
	}
	path := filepath.Join(t.TempDir(), "more.yaml")
	if err := os.WriteFile(path, []byte(whole), 0o600); err != nil {
		t.Fatal(err)
	}
	return LoadStation(path)
}

const (
	reflectorLine = "    reflector: {mount_share: 35 %, frequency: 7 Hz, damping: 0.01}\n"
	zenithLine    = "    zenith: {lighter: 20 t m^2}\n"
	wrapLine      = "    cable_wrap: {neutral: -5 deg, reach: 230 deg}\n"
	gravityLine   = "    gravity: {phase: 10 deg}\n"
	pinLine       = "    stow_pin: {at: 88 deg, play: 0.1 deg, shear: 400 kN m}\n"
)

// Sections that are there reach the plant; those that are not leave it as it is.
func TestMechanics_ReachThePlant(t *testing.T) {
	s, err := demoWith(t, reflectorLine+zenithLine+wrapLine, gravityLine+pinLine)
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

// One line for each thing that cannot be, with its place.
func TestMechanics_Refuses(t *testing.T) {
	for _, c := range []struct{ azimuth, elevation, says string }{
		{"    reflector: {mount_share: 100 %, frequency: 7 Hz, damping: 0}\n", "",
			"azimuth.reflector.mount_share is 1.000; nothing is left for the reflector"},
		{"    reflector: {mount_share: 35 %, frequency: 3 Hz, damping: 0}\n", "",
			"azimuth.reflector.frequency is 3.000 Hz; with it the axis cannot swing"},
		{"    reflector: {mount_share: 35 %, frequency: 7 Hz}\n", "",
			"azimuth.reflector.damping is missing"},
		{"    reflector: {mount_share: 35 %, stiffness: 7 Hz, damping: 0}\n", "",
			`unknown key "stiffness"; section reflector has none of that name`},
		{reflectorLine + "    zenith: {lighter: 70 t m^2}\n", "",
			"azimuth.zenith.lighter is 70.000 t m^2; the whole reflector may have no more than " +
				"52.48"},
		{"", zenithLine, "elevation.zenith makes inertia go with the elevation"},
		{"", "    stow_pin: {at: 95 deg, play: 0.1 deg, shear: 1 kN m}\n",
			"elevation.stow_pin.at is 95.000 deg; the axis gets from 5.000 deg to 92.000 deg"},
		{"", "    stow_pin: {at: 88 deg, play: 0.1 deg, shear: 0 kN m}\n",
			"elevation.stow_pin.shear is 0.0 N m; it must be above 0"},
		{"    cable_wrap: {neutral: -5 deg, reach: 209 deg}\n", "",
			"azimuth.cable_wrap.reach is 209.000 deg; the software limits lie up to 210.000 deg"},
		{"", "    gravity: {phase: 0.1}\n", `elevation.gravity.phase "0.1": no unit provided`},
	} {
		_, err := demoWith(t, c.azimuth, c.elevation)
		if err == nil || !strings.Contains(err.Error(), c.says) ||
			strings.Count(err.Error(), "\n") != 0 {
			t.Errorf("says\n%v\nwant\n%s", err, c.says)
		}
	}
}
