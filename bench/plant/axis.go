package plant

import "slices"

// Axis is one of the four axes of a station.
type Axis int

// The axes in their fixed order. Azimuth and elevation are the main axes: two
// motors each, limit switches, buffers, brakes.
const (
	Azimuth Axis = iota
	Elevation
	PolarizationH
	PolarizationV

	AxisCount  = 4
	MainAxes   = 2
	MotorCount = 6
)

// The ends of an axis's travel, as indices.
const (
	Lower = 0
	Upper = 1
)

// EndCount is the number of ends of an axis.
const EndCount = 2

// AxisNames holds the names of the axes as records and fixtures write them.
var AxisNames = [AxisCount]string{"azimuth", "elevation", "polarization_h", "polarization_v"}

// EndNames holds the names of the ends.
var EndNames = [EndCount]string{"lower", "upper"}

// MotorNames holds the names of the motors, in the order of every motor array.
var MotorNames = [MotorCount]string{
	"azimuth.1", "azimuth.2", "elevation.1", "elevation.2", "polarization_h.1", "polarization_v.1",
}

// MotorAxis holds the axis that each motor turns.
var MotorAxis = [MotorCount]Axis{
	Azimuth, Azimuth, Elevation, Elevation, PolarizationH, PolarizationV,
}

// String returns the axis's name.
func (a Axis) String() string {
	if a < 0 || a >= AxisCount {
		return "no axis"
	}
	return AxisNames[a]
}

// AxisNamed finds an axis by the name that records and fixtures write.
func AxisNamed(name string) (Axis, bool) {
	a := Axis(slices.Index(AxisNames[:], name))
	return a, a >= 0
}

// AxisWords holds the axes as sentences name them, in their order.
var AxisWords = [AxisCount]string{"azimuth", "elevation", "polarization H", "polarization V"}

// Words returns the axis as a sentence names it.
func (a Axis) Words() string { return AxisWords[a] }

// Main reports whether the axis is azimuth or elevation.
func (a Axis) Main() bool { return a == Azimuth || a == Elevation }

// Motors returns the index of the axis's first motor and how many it has.
func (a Axis) Motors() (first, count int) {
	if a.Main() {
		return 2 * int(a), 2
	}
	return int(a) + 2, 1
}
