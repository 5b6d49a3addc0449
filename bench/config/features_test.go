package config

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
)

// write puts a file beside the others of a test.
func write(t *testing.T, dir, name, content string) string {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func read(t *testing.T, name string) string {
	t.Helper()
	text, err := shipped(name)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// everyFeature is what a drive sheet may say beside the keys that all of them have.
const everyFeature = `
modes: [profile_velocity, cyclic_velocity]
interpolation_time: 20 ms
max_motor_speed: 150 %
following_error: {angle: 2 deg, time: 200 ms}
overspeed: 140 %
blocked_time: 2 s
partner_interlock: true
i2t: {peak_time: 3 s, fold_back: true}
link: {energy: 60 J, under: 65 %, chopper: 120 %, over: 135 %, resistor_time: 150 ms,
  resistor_heat: 5000 J, resistor_cooling: 60 s, efficiency: 90 %, dip: 20 ms}
safety:
  reaction: ss1
  ss1: {time: 1.7 s, ramp: 90 %, margin: 10 %}
  ss2: {time: 1.6 s, window: 0.1 deg}
  sls: {rate: 25 %, time: 500 ms}
  sdi: {window: 0.05 deg}
  sbc: true
`

// featured is the demo station whose azimuth drives have everything switched on.
func featured(t *testing.T) *Station {
	t.Helper()
	dir := t.TempDir()
	write(t, dir, "everything.yaml", strings.NewReplacer("sheet: main-axis-motor",
		"sheet: everything", "base_rate: 110 %", "base_rate: 120 %").Replace(
		read(t, "drives/main-axis-motor.yaml"))+everyFeature)
	path := write(t, dir, "station.yaml", strings.Replace(read(t, "stations/demo.yaml"),
		"sheet: main-axis-motor", "sheet: everything", 2))
	s, err := LoadStation(path)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Every key arrives, shares taken of the demo station's azimuth: full rate
// 2.4 deg/s, stop ramp 2.2 deg/s^2.
func TestSheet_EveryFeatureArrives(t *testing.T) {
	p := featured(t).Station().Drives[0].Parameters
	if err := p.Check(); err != nil {
		t.Error(err)
	}
	degree := float64(quantity.Degree)
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12*math.Abs(want) {
			t.Errorf("%s is %g, want %g", what, got, want)
		}
	}
	near("6080", float64(p.MaxMotorSpeed), 3.6*degree)
	near("overspeed", float64(p.Overspeed), 3.36*degree)
	near("6065", float64(p.FollowingError), 2*degree)
	near("ramp", float64(p.Safety.SS1Ramp), 1.98*degree)
	near("margin", float64(p.Safety.RampMargin), 0.24*degree)
	near("SOS window", float64(p.Safety.SOSWindow), 0.1*degree)
	near("SLS", float64(p.Safety.SLSRate), 0.6*degree)
	near("SDI", float64(p.Safety.SDIWindow), 0.05*degree)
	near("base rate", float64(p.BaseRate), 2.88*degree)
	p.Safety.SS1Ramp, p.Safety.RampMargin, p.Safety.SOSWindow = 0, 0, 0
	p.Safety.SLSRate, p.Safety.SDIWindow = 0, 0
	if want := (drive.Link{Energy: 60, Chopper: 1.2, Over: 1.35, Under: 0.65, Heat: 5000,
		Resistor: 150 * time.Millisecond, Cooling: time.Minute, Efficiency: 0.9,
		Dip: 20 * time.Millisecond}); p.Link != want {
		t.Errorf("link %+v, want %+v", p.Link, want)
	}
	if want := (drive.Safety{SS1Time: 1700 * time.Millisecond, SS2Time: 1600 * time.Millisecond,
		SLSTime: 500 * time.Millisecond, SBC: true, Reaction: drive.ReactSS1}); p.Safety != want {
		t.Errorf("safety %+v, want %+v", p.Safety, want)
	}
	if p.Modes != cia402.SupportsProfileVelocity|cia402.SupportsCyclicVelocity ||
		p.Interpolation != 20*time.Millisecond || p.FollowingTime != 200*time.Millisecond ||
		p.BlockedTime != 2*time.Second || !p.PartnerInterlock ||
		p.Thermal != (drive.Thermal{PeakTime: 3 * time.Second, FoldBack: true}) {
		t.Errorf("parameters %+v", p)
	}
}

// What a sheet leaves out is off, and adds no row to the table.
func TestSheet_NothingIsOnByItself(t *testing.T) {
	s, err := LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	for motor, d := range s.Station().Drives {
		if d.Modes != 0 || d.Link != (drive.Link{}) || d.Safety != (drive.Safety{}) ||
			d.Thermal != (drive.Thermal{}) || d.Overspeed != 0 || d.PartnerInterlock || d.Servo {
			t.Errorf("%s: %+v", plant.MotorNames[motor], d.Parameters)
		}
	}
	if p, ok := s.Lookup("azimuth.1.overspeed"); ok {
		t.Errorf("the table has %v", p)
	}
	if _, ok := featured(t).Lookup("azimuth.1.link.energy"); !ok {
		t.Error("the table lacks azimuth.1.link.energy")
	}
}

// The small station has servo units: both
// motors are one unit, and its controller has no bias left to make.
func TestServo_OnTheSmallStation(t *testing.T) {
	s, err := LoadStation("small")
	if err != nil {
		t.Fatal(err)
	}
	p := s.Station()
	controller, err := LoadController("standin")
	if err != nil {
		t.Fatal(err)
	}
	set, _ := s.Standin(&controller.Profile)
	for motor := range plant.MotorCount {
		d, axis := p.Drives[motor], plant.MotorAxis[motor]
		if d.Servo != axis.Main() || d.Servo && set.Axes[axis].TorqueBias != 0 {
			t.Errorf("%s: servo is %v, the controller's bias %v", plant.MotorNames[motor], d.Servo,
				set.Axes[axis].TorqueBias)
		}
	}
	if p.Drives[0].Bias != 1.8*quantity.KilonewtonMetre || p.Drives[2].Bias != 1600 ||
		p.Seat(station.RoleDrive, 0).Endpoint != p.Seat(station.RoleDrive, 1).Endpoint {
		t.Errorf("azimuth %+v", p.Drives[0])
	}
}
