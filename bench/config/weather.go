package config

import (
	"slices"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
)

// weatherSection, which a station may leave out, has the wind follow the attitude
// of the dish instead of pushing every axis as hard as it can.
type weatherSection struct {
	Mean  value[speed]  `yaml:"mean"`
	From  value[angle]  `yaml:"from" range:"any"`
	Gusts *gustsSection `yaml:"gusts,omitempty"`
}

type gustsSection struct {
	Spectrum  text          `yaml:"spectrum"`
	Intensity value[ratio]  `yaml:"intensity"`
	Length    value[length] `yaml:"length"`
}

// checkWeather reports words that mean nothing here.
func (s *Station) checkWeather(r *report) {
	w := s.form.Weather
	if w == nil {
		return
	}
	if w.Gusts != nil {
		s.oneOf("weather.gusts.spectrum", w.Gusts.Spectrum.value, plant.GustModelNames(), r)
	}
}

// weather is the wind of the assembled station; nil where it has none of its own.
func (s *Station) weather() *station.Weather {
	w := s.form.Weather
	if w == nil {
		return nil
	}
	made := &station.Weather{Mean: quantity.Speed(w.Mean.value), From: quantity.Angle(w.From.value)}
	if g := w.Gusts; g != nil {
		made.Model = plant.GustModel(slices.Index(plant.GustModelNames(), g.Spectrum.value))
		made.Intensity = quantity.Ratio(g.Intensity.value)
		made.Length = quantity.Length(g.Length.value)
	}
	return made
}
