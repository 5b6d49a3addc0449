package config

import (
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// eccentricityMax is the error of a disc that nobody would leave on an axis; what is
// sound is some thousandths of a degree. Common practice.
const eccentricityMax = 0.5 * quantity.Degree

// checkEncoders reports what the optional keys of an encoder's seat may not say.
func (s *Station) checkEncoders(r *report) {
	for axis := range plant.AxisCount {
		seat, at := s.encoderSeat(axis), "encoders."+plant.AxisNames[axis]
		if e := seat.Eccentricity; e != nil && e.Amplitude.highest > float64(eccentricityMax) {
			r.add(s.doc.file, s.doc.line(at+".eccentricity.amplitude"), "%s.eccentricity.amplitude is "+
				"%v; an error that large is a fault of the encoder; give 0 to %v, or the "+
				"fault encoder_eccentric", at, quantity.Angle(e.Amplitude.highest), eccentricityMax)
		}
		silence := s.form.Controller.Silence
		if seat.Latency.set && seat.Latency.highest >= silence.value {
			r.add(s.doc.file, s.doc.line(at+".latency"), "%s.latency is %s; controller.silence, %s, "+
				"takes older values for silence; give less than that", at,
				quantity.Format(quantity.DimSpan, seat.Latency.highest),
				quantity.Format(quantity.DimSpan, silence.value))
		}
	}
}
