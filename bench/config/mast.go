package config

import (
	"slices"

	"haltmark/bench/quantity"
	"haltmark/emulators/nmea"
	"haltmark/emulators/weather"
)

// mastSection, which a station may leave out, is its weather mast.
type mastSection struct {
	seatSection `yaml:",inline"`
	Reference   text         `yaml:"reference"`
	Heading     value[angle] `yaml:"heading" range:"any"`
	Unit        text         `yaml:"unit"`
	Doubt       value[span]  `yaml:"doubt"` // longest without a valid word
}

// The words for a mast's reference and unit, and what they mean.
func references() ([]string, []nmea.Reference) {
	return []string{"relative", "true"}, []nmea.Reference{nmea.Relative, nmea.True}
}

func speedUnits() ([]string, []nmea.Unit) {
	return []string{"knots", "m/s", "km/h"},
		[]nmea.Unit{nmea.Knots, nmea.MetresPerSecond, nmea.KilometresPerHour}
}

// checkMast reports words that mean nothing here.
func (s *Station) checkMast(r *report) {
	m := s.form.Mast
	if m == nil {
		return
	}
	words, _ := references()
	s.oneOf("mast.reference", m.Reference.value, words, r)
	words, _ = speedUnits()
	s.oneOf("mast.unit", m.Unit.value, words, r)
}

// mast is that of the assembled station, the zero value where it has none.
func (s *Station) mast() weather.Parameters {
	m := s.form.Mast
	if m == nil {
		return weather.Parameters{}
	}
	words, meant := references()
	unitWords, units := speedUnits()
	return weather.Parameters{
		Reference: meant[slices.Index(words, m.Reference.value)],
		Unit:      units[slices.Index(unitWords, m.Unit.value)],
		Heading:   quantity.Angle(m.Heading.value),
	}
}
