package plant

import (
	"math"
	"testing"

	"haltmark/bench/quantity"
)

// integral integrates a density over frequency, from 1e-9 to 1e9 Hz.
func integral(s Spectrum) float64 {
	low, high := math.Log(1e-9), math.Log(1e9)
	sum := 0.0
	for _, edge := range logSteps(low, high, 400) {
		sum += bandEnergy(s, edge, edge+(high-low)/400)
	}
	return sum
}

func logSteps(low, high float64, count int) []float64 {
	var edges []float64
	for i := range count {
		edges = append(edges, low+(high-low)*float64(i)/float64(count))
	}
	return edges
}

// The integrals of testdata/SOURCES.md, "Wind". The deviation of 2.5 m/s and the lengths are
// arbitrary, the variance must come back.
func TestSpectra_IntegralsAreTheVariance(t *testing.T) {
	turbulence := Turbulence{Mean: 17, Deviation: 2.5, Length: 140}
	for name, s := range map[string]Spectrum{
		"von Karman": VonKarman(turbulence), "Kaimal": Kaimal(turbulence),
		"Dryden": Dryden(turbulence),
	} {
		// The constant 70.8 is printed to three digits.
		near(t, name, integral(s), 2.5*2.5, 0.002*2.5*2.5)
	}
	// Davenport: sigma = V sqrt(6 K), printed to three digits.
	for _, row := range []struct{ drag, share float64 }{
		{0.005, 0.173}, {0.010, 0.245}, {0.015, 0.300},
	} {
		s := Davenport{Mean: 23, Drag: quantity.Ratio(row.drag)}
		near(t, "Davenport", math.Sqrt(integral(s))/23, row.share, 0.0005)
	}
}

// peak finds the largest n S(n) and where it is.
func peak(s Spectrum) (hertz, value float64) {
	for _, at := range logSteps(math.Log(1e-5), math.Log(10), 200000) {
		f := math.Exp(at)
		if v := f * s.Density(quantity.Frequency(f)); v > value {
			hertz, value = f, v
		}
	}
	return hertz, value
}

// Peaks of testdata/SOURCES.md, to half a unit of the last printed digit.
func TestSpectra_Peaks(t *testing.T) {
	const mean, drag = 13, 0.01
	hertz, value := peak(Davenport{Mean: mean, Drag: drag})
	near(t, "Davenport's peak, n/V10", hertz/mean, 0.001443, 0.5e-6)
	near(t, "its value", value/(drag*mean*mean), 1.88988, 0.5e-5)
	hertz, value = peak(VonKarman{Mean: 20, Deviation: 2, Length: 100})
	near(t, "von Karman's peak, nL/V", hertz*100/20, 0.1456, 0.5e-4)
	near(t, "its value", value/4, 0.27131, 0.5e-5)
}

// Values on the way, of testdata/SOURCES.md.
func TestSpectra_Values(t *testing.T) {
	davenport := Davenport{Mean: 10, Drag: 0.01}
	for _, row := range []struct{ hertz, value float64 }{
		{0.01, 1.7535}, {0.1, 0.7561}, {1, 0.1644},
	} {
		got := row.hertz * davenport.Density(quantity.Frequency(row.hertz))
		near(t, "Davenport", got, row.value, 0.5e-4)
	}
	const length, mean, deviation = 90, 18, 3
	vonKarman := VonKarman{Mean: mean, Deviation: deviation, Length: length}
	for _, row := range []struct{ reduced, value float64 }{
		{0.01, 0.03977}, {0.1, 0.25605}, {1, 0.11358}, {10, 0.02475},
	} {
		hertz := row.reduced * mean / length
		got := hertz * vonKarman.Density(quantity.Frequency(hertz)) / (deviation * deviation)
		near(t, "von Karman", got, row.value, 0.5e-5)
	}
	near(t, "Kaimal's length", float64(KaimalLength(1)), 2.329, 0.0005)
	// Kaimal's at nL/V = 1: 4 / 7^(5/3) = 4 / 25.615.
	near(t, "Kaimal", Kaimal{Mean: 10, Deviation: 1, Length: 10}.Density(1), 0.15616, 5e-5)
}

// MIL-F-8785C, secondary, gives the density over omega: u at L omega/V = 1 is half of
// what it is at zero, sigma^2 L/(pi V); in hertz, 2 pi times that.
func TestDryden_DensityInHertz(t *testing.T) {
	set := Turbulence{Mean: 30, Deviation: 2, Length: 60}
	const corner = 30.0 / 60 / (2 * math.Pi)
	near(t, "along", Dryden(set).Density(corner), 2*math.Pi*4*60/(math.Pi*30), 1e-9)
}

// Every model keeps the deviation that it is asked for.
func TestGustModel_SpectrumKeepsTheDeviation(t *testing.T) {
	for m := range gustModels {
		s := m.Spectrum(Turbulence{Mean: 20, Deviation: 3, Length: 120})
		near(t, GustModelNames()[m], integral(s), 9, 0.02)
	}
	if len(GustModelNames()) != int(gustModels) {
		t.Error("names and models differ in number")
	}
}
