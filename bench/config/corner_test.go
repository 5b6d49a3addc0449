package config

import (
	"math"
	"strings"
	"testing"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"

	"github.com/google/go-cmp/cmp"
)

// The corners are those of testdata/SOURCES.md, but the wind that the stations have
// anyway.
func TestCorners_AreThoseOfStations(t *testing.T) {
	for _, name := range Embedded(kindStation) {
		s, err := LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		for _, c := range s.Corners() {
			names = append(names, c.Name)
		}
		want := []string{"inertia lowest", "inertia highest", "friction -50 %", "friction +50 %",
			"brakes 80 %", "brakes 120 %", "supply 90 %", "wind 20 m/s towards lower"}
		if diff := cmp.Diff(want, names); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// landings tells, of each corner of the demo station, where it shows in the plant. By
// hand: azimuth has 95 and 30 t m^2 within 15 %, 4 kN m and
// 8 kN m s/rad, brakes of 80 kN m.
func landings() map[string]func(*testing.T, *plant.Parameters) {
	az := func(p *plant.Parameters) *plant.AxisParameters { return &p.Axes[plant.Azimuth] }
	pol := func(p *plant.Parameters) *plant.AxisParameters { return &p.Axes[plant.PolarizationV] }
	return map[string]func(*testing.T, *plant.Parameters){
		"inertia lowest": func(t *testing.T, p *plant.Parameters) {
			near(t, "load", float64(az(p).LoadInertia), 0.85*95e3)
			near(t, "motor", float64(az(p).Motors[1].Inertia), 0.85*30e3)
		},
		"inertia highest": func(t *testing.T, p *plant.Parameters) {
			near(t, "load", float64(az(p).LoadInertia), 1.15*95e3)
			near(t, "polarization load", float64(pol(p).LoadInertia), 1.15*200)
		},
		"friction -50 %": func(t *testing.T, p *plant.Parameters) {
			near(t, "Coulomb", float64(az(p).LoadCoulomb), 2e3)
			near(t, "viscous", float64(az(p).LoadViscous), 4e3)
		},
		"friction +50 %": func(t *testing.T, p *plant.Parameters) {
			near(t, "Coulomb", float64(pol(p).LoadCoulomb), 90)
		},
		"brakes 80 %": func(t *testing.T, p *plant.Parameters) {
			near(t, "first brake", float64(az(p).Motors[0].BrakeTorque), 64e3)
			near(t, "second brake", float64(az(p).Motors[1].BrakeTorque), 64e3)
		},
		"brakes 120 %": func(t *testing.T, p *plant.Parameters) {
			near(t, "brake", float64(p.Axes[plant.Elevation].Motors[0].BrakeTorque), 96e3)
		},
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*math.Abs(want) {
		t.Errorf("%s is %g, want %g", what, got, want)
	}
}

func TestAtCorner_LandsInThePlantAlone(t *testing.T) {
	s, err := LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	nominal, checks := s.Station(), landings()
	for _, c := range s.Corners() {
		t.Run(c.Name, func(t *testing.T) {
			changed, made, err := s.AtCorner(c)
			if err != nil {
				t.Fatal(err)
			}
			if check := checks[c.Name]; check != nil {
				check(t, &made.Plant)
			}
			for axis := range made.Plant.Axes {
				near(t, "stiffness", float64(made.Plant.Axes[axis].Stiffness),
					float64(nominal.Plant.Axes[axis].Stiffness))
			}
			if diff := cmp.Diff(nominal.Drives, made.Drives); diff != "" {
				t.Errorf("the drives know the corner: %s", diff)
			}
			travel := changed.Figures(plant.Azimuth).CategoryZero[plant.BothBrakes].Travel
			own := s.Figures(plant.Azimuth).CategoryZero[plant.BothBrakes].Travel
			if c.Name == "brakes 80 %" && !(travel > own) {
				t.Errorf("weak brakes stop in %v, the nominal ones in %v", travel, own)
			}
			if diff := cmp.Diff(nominal, s.Station()); diff != "" {
				t.Errorf("the station itself has changed: %s", diff)
			}
		})
	}
}

// The wind turns round, the unbalance does not: the demo station's is 9 kN m upward.
func TestAtCorner_WindTurnsRound(t *testing.T) {
	s, err := LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	_, made, err := s.AtCorner(Corner{Wind: -20 * quantity.MetrePerSecond})
	if err != nil {
		t.Fatal(err)
	}
	nominal := s.Station()
	for axis, unbalance := range []float64{0, 9e3} {
		sum := float64(made.External[axis] + nominal.External[axis])
		if math.Abs(sum-2*unbalance) > 1e-6 {
			t.Errorf("%v: the torques of both winds add up to %g N m, want twice the unbalance %g",
				plant.Axis(axis), sum, unbalance)
		}
	}
	if made.Wind != nominal.Wind {
		t.Errorf("it blows at %v, want %v", made.Wind, nominal.Wind)
	}
	if diff := cmp.Diff(nominal.Plant, made.Plant); diff != "" {
		t.Errorf("the mechanics have changed: %s", diff)
	}
}

// A low supply reaches every drive and nothing else; without drives that mind there is
// no such corner.
func TestAtCorner_LowSupply(t *testing.T) {
	s, err := LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	_, made, err := s.AtCorner(Corner{Supply: 0.9})
	if err != nil {
		t.Fatal(err)
	}
	nominal := s.Station()
	if nominal.Supply = 0.9; cmp.Diff(nominal, made) != "" {
		t.Error(cmp.Diff(nominal, made))
	}
	dir := t.TempDir()
	for _, sheet := range []string{"main-axis-motor", "polarization-motor"} {
		text := read(t, "drives/"+sheet+".yaml")
		write(t, dir, sheet+".yaml", strings.Replace(text, "base_rate:", "# base_rate:", 1))
	}
	path := write(t, dir, "station.yaml", read(t, "stations/demo.yaml"))
	if s, err = LoadStation(path); err != nil {
		t.Fatal(err)
	}
	for _, c := range s.Corners() {
		if c.Supply != 0 {
			t.Errorf("drives that tell no low supply from a good one have the corner %q", c.Name)
		}
	}
}

// With a weather of its own a station has the same corners, and the wind towards the
// upper ends as well: 20 m/s from the side of its own and from the other one.
func TestAtCorner_WithItsOwnWeather(t *testing.T) {
	s, err := withWeather(t, weatherText)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]float64{}
	for _, c := range s.Corners() {
		_, made, err := s.AtCorner(c)
		if err != nil {
			t.Fatal(err)
		}
		w := made.Weather
		if w == nil || made.Seat(station.RoleMast, 0) == nil || (w.Intensity == 0.18) != (c.Wind == 0) {
			t.Fatalf("%s: weather %+v", c.Name, w)
		}
		if c.Wind == 0 {
			near(t, c.Name+" mean", float64(w.Mean), 12)
			near(t, c.Name+" side", w.From.Degrees(), 240)
			continue
		}
		near(t, c.Name+" mean", float64(w.Mean), 20)
		found[c.Name] = w.From.Degrees()
		if _, err := station.New(made, station.Options{}); err != nil {
			t.Error(err)
		}
	}
	near(t, "upper", found["wind 20 m/s towards upper"], 240)
	near(t, "lower", found["wind 20 m/s towards lower"], 240+180)
	if got := s.Station().Weather.Mean; got != 12 {
		t.Errorf("the station's own wind has become %v", got)
	}
}
