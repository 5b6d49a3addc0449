package config

import (
	"slices"

	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/nmea"
	"haltmark/emulators/weather"
)

// weatherSection, which a station may leave out, has the wind follow the attitude
// of the dish instead of pushing every axis as hard as it can.
type weatherSection struct {
	Mean  value[speed]  `yaml:"mean"`
	From  value[angle]  `yaml:"from" range:"any"`
	Gusts *gustsSection `yaml:"gusts,omitempty"`
	Mast  *mastSection  `yaml:"mast,omitempty"`
}

type gustsSection struct {
	Spectrum  text          `yaml:"spectrum"`
	Intensity value[ratio]  `yaml:"intensity"`
	Length    value[length] `yaml:"length"`
}

type mastSection struct {
	Name      text         `yaml:"name"`
	Protocol  text         `yaml:"protocol"`
	Endpoint  text         `yaml:"endpoint"`
	Reference text         `yaml:"reference"`
	Heading   value[angle] `yaml:"heading" range:"any"`
	Unit      text         `yaml:"unit"`
}

// The words for a mast's reference and unit, and what they mean.
func references() ([]string, []nmea.Reference) {
	return []string{"relative", "true"}, []nmea.Reference{nmea.Relative, nmea.True}
}

func speedUnits() ([]string, []nmea.Unit) {
	return []string{"knots", "m/s", "km/h"},
		[]nmea.Unit{nmea.Knots, nmea.MetresPerSecond, nmea.KilometresPerHour}
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
	if w.Mast == nil {
		return
	}
	s.oneOf("weather.mast.protocol", w.Mast.Protocol.value, []string{"nmea-0183"}, r)
	s.endpoint("weather.mast.endpoint", w.Mast.Endpoint.value, r)
	words, _ := references()
	s.oneOf("weather.mast.reference", w.Mast.Reference.value, words, r)
	words, _ = speedUnits()
	s.oneOf("weather.mast.unit", w.Mast.Unit.value, words, r)
}

// ruleMastAddress is the second part of rule 10 for the mast, which has no unit id
// that would tell it from a device at its address.
func (s *Station) ruleMastAddress(r *report) {
	w := s.form.Weather
	if w == nil || w.Mast == nil {
		return
	}
	for _, p := range s.places() {
		if p.seat.Endpoint.value == w.Mast.Endpoint.value {
			r.add(s.doc.file, s.doc.line("weather.mast.endpoint"), "weather.mast is at %s, where %s is "+
				"already; two devices never share address, port and unit; give it another port "+
				"(rule 10)", w.Mast.Endpoint.value, p.at)
			return
		}
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
	if m := w.Mast; m != nil {
		words, meant := references()
		unitWords, units := speedUnits()
		made.Mast = &station.Mast{
			Seat: station.Seat{Name: m.Name.value, Gear: 1,
				Endpoint: link.Endpoint{Network: "tcp", Address: m.Endpoint.value}},
			Parameters: weather.Parameters{
				Reference: meant[slices.Index(words, m.Reference.value)],
				Unit:      units[slices.Index(unitWords, m.Unit.value)],
				Heading:   quantity.Angle(m.Heading.value),
			},
		}
	}
	return made
}
