package plant

import (
	"math"
	"time"

	"haltmark/bench/quantity"
	"haltmark/bench/seed"
)

// GustPeriod is the span between two values of Gusts: a whole multiple of every
// plant step that a station runs at, and a tenth of the fastest eddy's period.
const GustPeriod = 10 * time.Millisecond

// The gusts are made of one harmonic in each of these bands of equal ratio.
const (
	gustLines     = 128
	gustLowestHz  = 1e-4
	gustHighestHz = 20
)

// gustLine is one harmonic: a pointer that is turned by one angle each period.
type gustLine struct {
	re, im       float64 // m/s
	cosine, sine float64 // of the angle
}

// Gusts is one component of a gusty wind about its mean: a sum of harmonics, of
// which each carries the whole energy of its band, at a frequency drawn within
// it and with a drawn phase. Every long run then has the spectrum and nearly the
// variance of the model, where filtered noise would often miss it by a tenth.
// What is slower than 0.1 mHz is in the first harmonic; what is faster than 20 Hz
// is left out, since an eddy smaller than the dish does not turn it.
//
// Its values depend on the spectrum and the stream alone.
type Gusts struct {
	lines [gustLines]gustLine
}

// NewGusts draws the harmonics of a spectrum.
func NewGusts(spectrum Spectrum, stream *seed.Stream) *Gusts {
	g := &Gusts{}
	ratio := math.Log(gustHighestHz/gustLowestHz) / gustLines
	period := GustPeriod.Seconds()
	for k := range g.lines {
		low := math.Log(gustLowestHz) + float64(ratio*float64(k))
		energy := bandEnergy(spectrum, low, low+ratio)
		if k == 0 {
			energy += slowEnergy(spectrum)
		}
		hertz := math.Exp(low + float64(ratio*stream.Float64()))
		turn, phase := 2*math.Pi*hertz*period, 2*math.Pi*stream.Float64()
		size := math.Sqrt(2 * energy)
		g.lines[k] = gustLine{re: size * math.Cos(phase), im: size * math.Sin(phase),
			cosine: math.Cos(turn), sine: math.Sin(turn)}
	}
	return g
}

// slowEnergy integrates a spectrum from a millionth of the lowest band on, below
// which no wind has anything, up to that band.
func slowEnergy(spectrum Spectrum) float64 {
	sum := 0.0
	for low := gustLowestHz * 1e-6; low < 0.9*gustLowestHz; low *= 10 {
		middle := math.Log(low) + math.Ln10/2
		sum += bandEnergy(spectrum, math.Log(low), middle) +
			bandEnergy(spectrum, middle, middle+math.Ln10/2)
	}
	return sum
}

// bandEnergy integrates a spectrum between two logarithms of hertz, by Simpson's
// rule over the logarithm.
func bandEnergy(spectrum Spectrum, low, high float64) float64 {
	const parts = 8
	width, sum := (high-low)/parts, 0.0
	for i := range parts + 1 {
		hertz := math.Exp(low + float64(width*float64(i)))
		weight := float64(2 + 2*(i%2))
		if i == 0 || i == parts {
			weight = 1
		}
		sum += float64(weight * hertz * spectrum.Density(quantity.Frequency(hertz)))
	}
	return sum * width / 3
}

// Next returns the gusts' value, in m/s to be added to the mean, and moves them
// on by GustPeriod. It does not allocate.
func (g *Gusts) Next() float64 {
	sum := 0.0
	for k := range g.lines {
		l := &g.lines[k]
		sum += l.re
		l.re, l.im = float64(l.re*l.cosine)-float64(l.im*l.sine),
			float64(l.re*l.sine)+float64(l.im*l.cosine)
	}
	return sum
}
