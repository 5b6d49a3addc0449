package config

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
)

const weatherText = `weather:
  mean: {value: 12 m/s, lowest: 8 m/s, highest: 16 m/s}
  from: 240 deg
  gusts: {spectrum: kaimal, intensity: 18 %, length: 150 m}
`

// withWeather loads the demo station with more at its end.
func withWeather(t *testing.T, text string) (*Station, error) {
	t.Helper()
	return patched(t, patch{On: demoFile, Append: text})
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
	s := demo(t)
	p := s.Station()
	if p.Weather != nil || p.Wind != 20 || p.Dish != 11 {
		t.Errorf("weather %v, wind %v, dish %v", p.Weather, p.Wind, p.Dish)
	}
	if _, ok := s.Lookup("weather.mean"); ok {
		t.Error("a parameter of weather that is not there")
	}
	s, err := withWeather(t, "weather: {mean: 9 m/s, from: -10 deg}\n")
	if err != nil {
		t.Fatal(err)
	}
	w := s.Station().Weather
	if w == nil || w.Mean != 9 || math.Abs(w.From.Degrees()+10) > 1e-9 || w.Intensity != 0 {
		t.Errorf("weather %+v", w)
	}
}
