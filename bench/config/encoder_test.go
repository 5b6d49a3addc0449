package config

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/quantity"
	"haltmark/emulators/encoder"
	"haltmark/emulators/registers"
)

func TestEncoder_OptionalKeysArrive(t *testing.T) {
	s, err := patched(t, patch{On: demoFile, Set: map[string]string{
		"encoders.azimuth.zero": "-720 deg, second_head: true, latency: 2 ms, eccentricity: {" +
			"phase: -30 deg, amplitude: {value: 0.004 deg, lowest: 0 deg, highest: 0.01 deg}}"}})
	if err != nil {
		t.Fatal(err)
	}
	got := s.Station().Encoders[0]
	near(t, "amplitude", got.Eccentricity.Degrees(), 0.004)
	near(t, "phase", got.EccentricityPhase.Degrees(), -30)
	if !got.SecondHead || got.Latency != 2*time.Millisecond {
		t.Errorf("%+v", got)
	}
	if p, ok := s.Lookup("encoders.azimuth.eccentricity.amplitude"); !ok ||
		p.Origin != quantity.Assumed || math.Abs(p.Highest-0.01*math.Pi/180) > 1e-12 {
		t.Errorf("the table has %+v", p)
	}
	bare := demo(t).Station().Encoders[0]
	if bare.SecondHead || bare.Latency != 0 || bare.Eccentricity != 0 {
		t.Errorf("an encoder that says nothing has %+v", bare)
	}
}

// The large station's encoders have, all assumed, two heads
// and a disc some thousandths of a degree off, less than a tenth of what its
// standstill rate moves it in a second.
func TestEncoder_OfTheLargeStation(t *testing.T) {
	s, err := LoadStation("large")
	if err != nil {
		t.Fatal(err)
	}
	encoders := s.Station().Encoders
	for axis, e := range encoders[:2] {
		if !e.SecondHead || e.Eccentricity <= 0 || e.Eccentricity > 0.002001*quantity.Degree {
			t.Errorf("axis %d: %+v", axis, e)
		}
	}
}

// A map of a drive or an encoder has every object of its device that others have.
func TestMaps_AreLevel(t *testing.T) {
	level := map[string][]string{}
	for _, name := range Embedded(kindMap) {
		m, err := LoadMap(name)
		if err != nil {
			t.Fatal(err)
		}
		kind, _, _ := strings.Cut(name, "-")
		var has []string
		for _, p := range m.Points {
			has = append(has, p.Quantity)
		}
		slices.Sort(has)
		has = slices.Compact(has)
		if level[kind] == nil {
			level[kind] = has
		}
		if diff := cmp.Diff(level[kind], has); diff != "" && kind != "interlock" {
			t.Errorf("%s differs from the map before it: %s", name, diff)
		}
	}
}

// By the maps, the heads of an eccentric disc differ by twice its error, and a head
// that has stepped by what it stepped.
func TestMaps_TellTheDifferenceOfTheHeads(t *testing.T) {
	for _, name := range []string{"encoder-input-registers", "encoder-holding-registers"} {
		m, err := LoadMap(name)
		if err != nil {
			t.Fatal(err)
		}
		const counts = 1 << 20
		e := encoder.New(encoder.Parameters{CountsPerTurn: counts, TotalRange: counts,
			SecondHead: true, Eccentricity: 0.01 * quantity.Degree})
		unit, err := registers.Bind(m, e, 1)
		if err != nil {
			t.Fatal(err)
		}
		e.Step(0, math.Pi/2)
		difference := func() float64 { return e.Load(encoder.HeadDifference) }
		if got, want := difference(), 2*0.01/360*counts; math.Abs(got-want) > 1 {
			t.Errorf("%s: %g counts, want %g", name, got, want)
		}
		e.Second.Faults.Offset = quantity.Angle(math.Pi / 2)
		e.Step(time.Millisecond, math.Pi/2)
		if got, want := difference(), -counts/4.0; math.Abs(got-want) > 100 {
			t.Errorf("%s: %g counts, want about %g", name, got, want)
		}
		_ = unit
	}
}
