package plant

import (
	"math"

	"haltmark/bench/quantity"
)

// Spectrum is the power spectral density of one component of a wind's gusts.
type Spectrum interface {
	// Density returns the one-sided density at a frequency above zero, in
	// (m/s)^2/Hz. Its integral over all frequencies is the variance.
	Density(n quantity.Frequency) float64
}

// Turbulence is what most spectra need: the mean speed that carries the eddies
// past, the standard deviation of one component, and that component's length.
type Turbulence struct {
	Mean, Deviation quantity.Speed
	Length          quantity.Length
}

// reduced returns variance times length over mean, and n times length over mean.
func (t Turbulence) reduced(n quantity.Frequency) (scale, x float64) {
	passing := float64(t.Length) / float64(t.Mean)
	return float64(t.Deviation) * float64(t.Deviation) * passing, float64(n) * passing
}

// VonKarman is the along-wind spectrum of von Karman's isotropic turbulence.
type VonKarman Turbulence

// Density implements Spectrum.
func (v VonKarman) Density(n quantity.Frequency) float64 {
	scale, x := Turbulence(v).reduced(n)
	return 4 * scale / math.Pow(1+70.8*x*x, 5.0/6)
}

// Kaimal is the along-wind spectrum of Kaimal's measurements over flat land. Its
// length is not von Karman's: see KaimalLength.
type Kaimal Turbulence

// Density implements Spectrum.
func (k Kaimal) Density(n quantity.Frequency) float64 {
	scale, x := Turbulence(k).reduced(n)
	return 4 * scale / math.Pow(1+6*x, 5.0/3)
}

// KaimalLength returns the length with which Kaimal's spectrum has the same
// density at high frequency as von Karman's: (70.8/36)^(5/4) times his.
func KaimalLength(vonKarman quantity.Length) quantity.Length {
	return quantity.Length(math.Pow(70.8/36, 1.25)) * vonKarman
}

// Davenport is the spectrum of strong wind at every height over land of a
// surface drag (0.005 open, 0.010 broken, 0.015 built-up), with one length of
// 1200 m. The mean is that at 10 m. Its deviation is mean times sqrt(6 drag).
type Davenport struct {
	Mean quantity.Speed
	Drag quantity.Ratio
}

const davenportLengthM = 1200

// Density implements Spectrum.
func (d Davenport) Density(n quantity.Frequency) float64 {
	v, f := float64(d.Mean), float64(n)
	x := davenportLengthM * f / v
	return float64(d.Drag) * v * v * 4 * x * x / math.Pow(1+x*x, 4.0/3) / f
}

// Dryden is the along-wind spectrum of MIL-F-8785C's rational model.
type Dryden Turbulence

// Density implements Spectrum.
func (d Dryden) Density(n quantity.Frequency) float64 {
	scale, x := Turbulence(d).reduced(n)
	x *= 2 * math.Pi
	return 4 * scale / (1 + x*x)
}

// GustModel names one of the published along-wind spectra.
type GustModel int

// The models.
const (
	ModelVonKarman GustModel = iota
	ModelKaimal
	ModelDavenport
	ModelDryden
	gustModels
)

// GustModelNames lists the models in order, as files and faults write them.
func GustModelNames() []string {
	return []string{"von_karman", "kaimal", "davenport", "dryden"}
}

// Spectrum returns the model's spectrum of a turbulence whose length is von
// Karman's. Kaimal's follows from it; Davenport's has its own, and its drag
// follows from the deviation.
func (m GustModel) Spectrum(t Turbulence) Spectrum {
	switch m {
	case ModelKaimal:
		t.Length = KaimalLength(t.Length)
		return Kaimal(t)
	case ModelDavenport:
		intensity := float64(t.Deviation) / float64(t.Mean)
		return Davenport{Mean: t.Mean, Drag: quantity.Ratio(intensity * intensity / 6)}
	case ModelDryden:
		return Dryden(t)
	}
	return VonKarman(t)
}
