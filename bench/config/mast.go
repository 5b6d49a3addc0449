package config

import (
	"slices"

	"haltmark/bench/link"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/nmea"
	"haltmark/emulators/weather"
)

// mastSection, which a station may leave out, is its weather mast.
type mastSection struct {
	Name      text         `yaml:"name"`
	Protocol  text         `yaml:"protocol"`
	Endpoint  text         `yaml:"endpoint"`
	Reference text         `yaml:"reference"`
	Heading   value[angle] `yaml:"heading" range:"any"`
	Unit      text         `yaml:"unit"`
	Doubt     value[span]  `yaml:"doubt"` // longest without a valid word
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
	s.oneOf("mast.protocol", m.Protocol.value, []string{"nmea-0183"}, r)
	s.endpoint("mast.endpoint", m.Endpoint.value, r)
	words, _ := references()
	s.oneOf("mast.reference", m.Reference.value, words, r)
	words, _ = speedUnits()
	s.oneOf("mast.unit", m.Unit.value, words, r)
}

// ruleMastAddress is the second part of rule 10 for the mast, which has no unit id
// that would tell it from a device at its address.
func (s *Station) ruleMastAddress(r *report) {
	m := s.form.Mast
	if m == nil {
		return
	}
	for _, p := range s.places() {
		if p.seat.Endpoint.value == m.Endpoint.value {
			r.add(s.doc.file, s.doc.line("mast.endpoint"), "mast is at %s, where %s is "+
				"already; two devices never share address, port and unit; give it another port "+
				"(rule 10)", m.Endpoint.value, p.at)
			return
		}
	}
}

// mast is that of the assembled station; nil for none.
func (s *Station) mast() *station.Mast {
	m := s.form.Mast
	if m == nil {
		return nil
	}
	words, meant := references()
	unitWords, units := speedUnits()
	return &station.Mast{
		Seat: station.Seat{Name: m.Name.value, Gear: 1,
			Endpoint: link.Endpoint{Network: "tcp", Address: m.Endpoint.value}},
		Parameters: weather.Parameters{
			Reference: meant[slices.Index(words, m.Reference.value)],
			Unit:      units[slices.Index(unitWords, m.Unit.value)],
			Heading:   quantity.Angle(m.Heading.value),
		},
	}
}
