package config

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/modbus"
	"haltmark/emulators/registers"
)

const demoFile = "stations/demo.yaml"

func demo(t *testing.T) *Station {
	t.Helper()
	s, err := LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The columns of the demo station in testdata/plant/stations.txt.
func TestStation_AssemblesTheDemoFigures(t *testing.T) {
	p := demo(t).Station()
	az := p.Plant.Axes[plant.Azimuth]
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%s is %v; want %v", what, got, want)
		}
	}
	near("pre-limit", az.Limits.PreLimit[plant.Upper].Degrees(), 205+2.6)
	near("final limit", az.Limits.FinalLimit[plant.Lower].Degrees(), -205-5.4)
	near("structure", az.Limits.Structure[plant.Upper].Degrees(), 205+6.7+0.9)
	near("brake", az.Motors[1].BrakeTorque.KilonewtonMetres(), 80)
	external := p.External[plant.Elevation].KilonewtonMetres()
	if math.Abs(external-(25.61+9)) > 0.005 {
		t.Errorf("elevation is pushed by %v kN m; want 25.61 of wind and 9 of unbalance", external)
	}
	// Worked by hand: 30 t m^2 and half of 95 t m^2.
	near("inertia of a drive", p.Drives[0].Inertia.TonneSquareMetres(), 77.5)
	near("largest velocity", p.Drives[2].MaxVelocity.DegreesPerSecond(), 1.25*1.6)
	// The sheet's shares of the axis: 200 % of 1.5, 125 % of 2.2, 100 % of 2.2 deg/s^2.
	d := p.Drives[0]
	near("acceleration of a drive", d.Acceleration.DegreesPerSecondSquared(), 3)
	near("deceleration of a drive", d.Deceleration.DegreesPerSecondSquared(), 2.75)
	near("quick stop of a drive", d.QuickStopDeceleration.DegreesPerSecondSquared(), 2.2)
	near("rated torque", d.RatedTorque.KilonewtonMetres(), 42)
	near("peak torque", d.PeakTorque.KilonewtonMetres(), 84)
	near("standstill", d.StandstillRate.DegreesPerSecond(), 0.05)
	if got := az.Motors[0].BrakeEngage; got != 70*time.Millisecond {
		t.Errorf("brake engages in %v", got)
	}
	if got := p.Interlock.SS1Time; got != 1900*time.Millisecond {
		t.Errorf("SS1-t is %v", got)
	}
	if got := p.Encoders[plant.Azimuth].CountsPerTurn; got != 1<<22 {
		t.Errorf("encoder has %d counts a turn", got)
	}
	h, v := p.Seat(station.RoleDrive, 4), p.Seat(station.RoleDrive, 5)
	if h.Endpoint != v.Endpoint || h.Unit == v.Unit {
		t.Error("the polarization drives are not two units behind one address")
	}
	if !p.Wiring.FinalLimit[plant.Elevation] || p.Wiring.FinalLimit[plant.PolarizationH] {
		t.Error("final limits are wired wrong")
	}
}

func TestStation_StandinIsToldTheSame(t *testing.T) {
	profile, err := LoadController("standin")
	if err != nil {
		t.Fatal(err)
	}
	s := demo(t)
	set, devices := s.Standin(&profile.Profile)
	p := s.Station()
	if devices.Drives[3].Endpoint != p.Seat(station.RoleDrive, 3).Endpoint ||
		devices.Drives[3].Gear != 10800 {
		t.Error("the stand-in finds a drive elsewhere than it is")
	}
	if devices.Management.Address != "127.0.0.1:10161" {
		t.Errorf("the stand-in's agent listens at %v", devices.Management)
	}
	for axis, a := range set.Axes {
		e := p.Encoders[axis]
		if a.EncoderCounts != uint64(e.TotalRange) || a.EncoderZero != e.Zero {
			t.Errorf("axis %d: the stand-in counts otherwise than the encoder", axis)
		}
	}
	if set.Timing.Cycle != 20*time.Millisecond || set.Stow != 88*quantity.Degree {
		t.Errorf("cycle %v, stow %v", set.Timing.Cycle, set.Stow)
	}
}

func TestWithOverride_MovesOneFigureAndWhatFollows(t *testing.T) {
	nominal := demo(t)
	corner, err := nominal.WithOverride("azimuth.brake_torque", 64e3)
	if err != nil {
		t.Fatal(err)
	}
	corner, err = corner.WithOverride("wind.constant", 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := corner.Station().Plant.Axes[0].Motors[0].BrakeTorque; got != 64e3 {
		t.Errorf("brake is %v", got)
	}
	// With brakes at 80 % the category 0 travel is that of stations.txt, 0.4184 deg.
	travel := corner.Figures(plant.Azimuth).CategoryZero[plant.BothBrakes].Travel.Degrees()
	if math.Abs(travel-0.4184) > 0.00005 {
		t.Errorf("travel is %v deg", travel)
	}
	if got := corner.Station().External[plant.Azimuth]; got != 0 {
		t.Errorf("without wind azimuth is pushed by %v", got)
	}
	if got := nominal.Station().Plant.Axes[0].Motors[0].BrakeTorque; got != 80e3 {
		t.Errorf("the override changed the nominal station: %v", got)
	}
	for _, path := range []string{"azimuth.brake", "azimuth.pre_to_final", ""} {
		if _, err := nominal.WithOverride(path, 1); !errors.Is(err, ErrParameter) {
			t.Errorf("override of %q: %v", path, err)
		}
	}
	if _, err := nominal.WithOverride("azimuth.full_rate", -1); err == nil {
		t.Error("a negative rate was accepted")
	}
}

// A station beside its own sheet uses that one; a name that is not beside it is
// embedded.
func TestLoadStation_ReferencesResolveBesideTheFile(t *testing.T) {
	folder := t.TempDir()
	copyOf := func(from, to string, old, new string) {
		text, err := os.ReadFile(filepath.Join("../../fixtures", from))
		if err != nil {
			t.Fatal(err)
		}
		changed := strings.Replace(string(text), old, new, 1)
		if changed == string(text) && old != "" {
			t.Fatalf("%s lacks %q", from, old)
		}
		if err := os.WriteFile(filepath.Join(folder, to), []byte(changed), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	copyOf("stations/demo.yaml", "mine.yaml", "", "")
	copyOf("drives/main-axis-motor.yaml", "main-axis-motor.yaml", "watchdog: 200 ms",
		"watchdog: 150 ms")
	s, err := LoadStation(filepath.Join(folder, "mine.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	p := s.Station()
	if p.Drives[0].Watchdog != 150*time.Millisecond || p.Drives[4].Watchdog != 200*time.Millisecond {
		t.Errorf("watchdogs are %v and %v", p.Drives[0].Watchdog, p.Drives[4].Watchdog)
	}
	names := []string{}
	for _, f := range s.Files() {
		if len(f.SHA256) != 64 {
			t.Errorf("%s: hash %q", f.Name, f.SHA256)
		}
		names = append(names, filepath.Base(f.Name))
	}
	once := slices.Compact(slices.Sorted(slices.Values(names)))
	if names[0] != "mine.yaml" || !slices.Contains(names, "main-axis-motor.yaml") ||
		!slices.Contains(names, "interlock-bits.yaml") || len(once) != len(names) {
		t.Errorf("the station came from %q", names)
	}
}

func TestLoadStation_NamesWhatIsNotThere(t *testing.T) {
	for name, want := range map[string]string{
		"nowhere": "nowhere: no such embedded file among stations; use one of demo, large, small " +
			"or a file's path",
		"no/such.yaml": "no/such.yaml: cannot be read; no such file or directory; name a file that " +
			"is there, or an embedded one without separator and extension",
	} {
		_, err := LoadStation(name)
		var problems Problems
		if !errors.As(err, &problems) || problems.Error() != want {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Every embedded file loads, and every requirement's limit is a parameter of
// every station.
func TestEmbedded_AllLoad(t *testing.T) {
	set, err := LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range Embedded(kindStation) {
		s, err := LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := set.Against(s); err != nil {
			t.Error(err)
		}
	}
	for _, name := range Embedded(kindSheet) {
		if err := CheckSheet(name); err != nil {
			t.Error(err)
		}
	}
	for _, name := range Embedded(kindController) {
		if _, err := LoadController(name); err != nil {
			t.Error(err)
		}
	}
}

// The maps use every space, every order of bytes, and both sides of the gear, so
// that no controller can get by with one habit.
func TestEmbeddedMaps_UseWhatThereIs(t *testing.T) {
	spaces := map[modbus.Space]bool{}
	orders := map[registers.Order]bool{}
	sides := map[registers.Side]bool{}
	for _, name := range Embedded(kindMap) {
		m, err := LoadMap(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range m.Points {
			spaces[p.Space], orders[p.Order] = true, true
			if p.Quantity == "velocity_actual" {
				sides[p.Side] = true
			}
		}
	}
	if len(spaces) != 4 || len(orders) != 4 || !sides[registers.SideAxis] ||
		!sides[registers.SideMotor] {
		t.Errorf("spaces %v, orders %v, sides %v", spaces, orders, sides)
	}
}

// A point of a map means what it says: 0.01 rpm a count, at the motor.
func TestLoadMap_ScaleCarriesItsUnit(t *testing.T) {
	m, err := LoadMap("drive-motor-side")
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(m.Points, func(p registers.Point) bool {
		return p.Quantity == "target_velocity"
	})
	want := 0.01 * 2 * math.Pi / 60
	if p := m.Points[i]; math.Abs(p.Scale-want) > 1e-15 || p.Side != registers.SideMotor || !p.Write {
		t.Errorf("target velocity stands as %+v", p)
	}
}

// Whatever a station file holds, loading ends with a station or with problems.
func FuzzStation(f *testing.F) {
	text, err := os.ReadFile("../../fixtures/stations/demo.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte("station: [\n"))
	f.Add([]byte("a: &a [*a]\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, _, err := assemble(&file{name: "fuzz.yaml", text: text}, nil)
		var problems Problems
		if err != nil && !errors.As(err, &problems) {
			t.Errorf("neither a station nor problems: %v", err)
		}
		if err == nil {
			s.enforce(&report{})
		}
	})
}

// The form of a station file has a place for every kind of device, where the kind says that
// its seats stand, and the demo station has them all.
func TestStation_ASeatForEveryDevice(t *testing.T) {
	made := demo(t).Station()
	for _, d := range station.Devices() {
		seat := made.Seat(d.Role, d.Index)
		if seat == nil {
			t.Errorf("no seat of %v at %s of the demo station, or no such key", d, d.Key())
			continue
		}
		if mapped := seat.Map.Name != ""; mapped != d.Role.Kind().Protocol.Units {
			t.Errorf("%v at %s: has a register map %v, speaks %s", d, d.Key(), mapped,
				d.Role.Kind().Protocol.Name)
		}
	}
}
