package config

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
)

const weatherText = `
weather:
  mean: {value: 12 m/s, lowest: 8 m/s, highest: 16 m/s}
  from: 240 deg
  gusts: {spectrum: kaimal, intensity: 18 %, length: 150 m}
`

// withWeather loads the demo station with more at its end.
func withWeather(t *testing.T, text string) (*Station, error) {
	t.Helper()
	demo, err := os.ReadFile("../../fixtures/stations/demo.yaml")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "windy.yaml")
	if err := os.WriteFile(path, append(demo, text...), 0o600); err != nil {
		t.Fatal(err)
	}
	return LoadStation(path)
}

func TestWeather_AsWritten(t *testing.T) {
	s, err := withWeather(t, weatherText)
	if err != nil {
		t.Fatal(err)
	}
	want := &station.Weather{
		Mean: 12, From: 240 * quantity.Degree, Intensity: 0.18, Model: plant.ModelKaimal, Length: 150}
	if diff := cmp.Diff(want, s.Station().Weather); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
	p, ok := s.Lookup("weather.gusts.intensity")
	if !ok || p.Value != 0.18 || p.Dimension != quantity.DimRatio {
		t.Errorf("the table has %v, %v", p, ok)
	}
	if p, _ = s.Lookup("weather.mean"); p.Lowest != 8 || p.Highest != 16 {
		t.Errorf("the range is %+v", p)
	}
	corner, err := s.WithOverride("weather.mean", 16)
	if err != nil || corner.Station().Weather.Mean != 16 {
		t.Errorf("a corner's mean: %v", err)
	}
}

// Weather and its gusts may each be left out. Without weather nothing
// blows but the constant wind, which every main axis feels at its worst.
func TestWeather_MayBeLeftOut(t *testing.T) {
	s, err := withWeather(t, "")
	if err != nil {
		t.Fatal(err)
	}
	p := s.Station()
	if p.Weather != nil || p.Wind != 20 || p.Dish != 11 {
		t.Errorf("weather %v, wind %v, dish %v", p.Weather, p.Wind, p.Dish)
	}
	if _, ok := s.Lookup("weather.mean"); ok {
		t.Error("a parameter of weather that is not there")
	}
	if s, err = withWeather(t, "\nweather: {mean: 9 m/s, from: -10 deg}\n"); err != nil {
		t.Fatal(err)
	}
	w := s.Station().Weather
	if w == nil || w.Mean != 9 || math.Abs(w.From.Degrees()+10) > 1e-9 || w.Intensity != 0 {
		t.Errorf("weather %+v", w)
	}
}

func TestWeather_Refuses(t *testing.T) {
	first := strings.Count(read(t, "stations/demo.yaml"), "\n") + 1 // line of weatherText
	for _, row := range []struct {
		from, to string
		line     int // of weatherText
		want     string
	}{
		{"spectrum: kaimal", "spectrum: kaimel", 4, `weather.gusts.spectrum: "kaimel" is not ` +
			"known here; need von_karman, kaimal, davenport or dryden"},
		{"intensity: 18 %", "intensity: 0 %", 4, "weather.gusts.intensity is 0.000; it must be " +
			"above 0; give a positive value"},
		{", length: 150 m", "", 4, "weather.gusts.length is missing; nothing is assumed for " +
			"it; add the key length"},
		{"lowest: 8 m/s", "lowest: 13 m/s", 2, "weather.mean is 12.00 m/s, outside its own " +
			"range 13.00 m/s to 16.00 m/s; mend the range"},
		{"12 m/s", "12 kn", 2, `weather.mean.value "12 kn": unknown unit "kn"; need m/s`},
		{"from:", "form:", 3, `unknown key "form"; section weather has none of that name; ` +
			"did you mean from?"},
	} {
		text := strings.Replace(weatherText, row.from, row.to, 1)
		_, err := withWeather(t, text)
		want := fmt.Sprintf(":%d: %s", first+row.line, row.want)
		if err == nil || !strings.HasSuffix(strings.SplitN(err.Error(), "\n", 2)[0], want) {
			t.Errorf("%s: says\n%v\nwant\n%s", row.to, err, want)
		}
	}
}
