package quantity

import "strconv"

// Dimension names a kind of quantity, for values that travel as plain SI
// numbers: records, verdicts, tables of parameters.
type Dimension int

// The dimensions, each with its SI unit.
const (
	DimNone         Dimension = iota // a count or a state, no unit
	DimAngle                         // rad
	DimRate                          // rad/s
	DimAcceleration                  // rad/s^2
	DimJerk                          // rad/s^3
	DimTorque                        // N m
	DimInertia                       // kg m^2
	DimStiffness                     // N m/rad
	DimDamping                       // N m s/rad
	DimEnergy                        // J
	DimSpeed                         // m/s
	DimFrequency                     // Hz
	DimLength                        // m
	DimRatio                         // no unit, or %
	DimSpan                          // s
	dimensionCount
)

// unit is one accepted spelling, and the factor that turns it into SI.
type unit struct {
	name   string
	factor float64
}

// dimensionRow tells how a dimension is read and printed: units in the order
// in which messages list them, printed is the one a person reads.
type dimensionRow struct {
	name     string
	units    []unit
	printed  string
	decimals int
	large    []string // each takes over from one of its own on
	small    string   // used below one printed unit
}

func (d Dimension) row() dimensionRow {
	if d < 0 || d >= dimensionCount {
		return dimensionRow{name: "dimension " + strconv.Itoa(int(d)), decimals: 6}
	}
	return dimensionRows[d]
}

// String names the dimension as files do, such as "angle".
func (d Dimension) String() string { return d.row().name }

// Unit is the trade unit in which Format prints a value of ordinary size;
// reports use it for the heads of columns and plots.
func (d Dimension) Unit() string { return d.row().printed }

// Units are all spellings of units that Parse takes, beside none where none is
// needed.
func (d Dimension) Units() []string {
	var names []string
	for _, u := range d.row().units {
		if u.name != "" {
			names = append(names, u.name)
		}
	}
	return names
}

// In converts an SI value to the trade unit that Unit names.
func (d Dimension) In(si float64) float64 { return si / d.row().factor(d.Unit()) }

// dimensionRows is a table of constants; nothing writes to it.
var dimensionRows = [dimensionCount]dimensionRow{
	DimNone: {name: "number", units: []unit{{"", 1}}, decimals: -1},
	DimAngle: {name: "angle", printed: "deg", decimals: 3,
		units: []unit{{"deg", float64(Degree)}, {"rad", 1}}},
	DimRate: {name: "rate", printed: "deg/s", decimals: 3,
		units: []unit{{"deg/s", float64(DegreePerSecond)}, {"rad/s", 1},
			{"rpm", float64(RevolutionPerMinute)}}},
	DimAcceleration: {name: "acceleration", printed: "deg/s^2", decimals: 3,
		units: []unit{{"deg/s^2", float64(DegreePerSecondSquared)}, {"rad/s^2", 1}}},
	DimJerk: {name: "jerk", printed: "deg/s^3", decimals: 3,
		units: []unit{{"deg/s^3", float64(DegreePerSecondCubed)}, {"rad/s^3", 1}}},
	DimTorque: {name: "torque", printed: "N m", decimals: 1, large: []string{"kN m"},
		units: []unit{{"N m", 1}, {"kN m", 1e3}, {"MN m", 1e6}}},
	DimInertia: {name: "inertia", printed: "kg m^2", decimals: 1, large: []string{"t m^2"},
		units: []unit{{"kg m^2", 1}, {"t m^2", 1e3}}},
	DimStiffness: {name: "stiffness", printed: "kN m/rad", decimals: 1, large: []string{"MN m/rad"},
		units: []unit{{"N m/rad", 1}, {"kN m/rad", 1e3}, {"MN m/rad", 1e6}}},
	DimDamping: {name: "damping", printed: "N m s/rad", decimals: 1, large: []string{"kN m s/rad"},
		units: []unit{{"N m s/rad", 1}, {"kN m s/rad", 1e3}}},
	DimEnergy: {name: "energy", printed: "J", decimals: 1,
		units: []unit{{"J", 1}, {"kJ", 1e3}}},
	DimSpeed: {name: "speed", printed: "m/s", decimals: 2, units: []unit{{"m/s", 1}}},
	DimFrequency: {name: "frequency", printed: "Hz", decimals: 3, large: []string{"kHz", "MHz", "GHz"},
		units: []unit{{"Hz", 1}, {"kHz", 1e3}, {"MHz", 1e6}, {"GHz", 1e9}}},
	DimLength: {name: "length", printed: "m", decimals: 3,
		units: []unit{{"m", 1}, {"mm", 1e-3}}},
	DimRatio: {name: "ratio", decimals: 3, units: []unit{{"", 1}, {"%", 0.01}}},
	DimSpan: {name: "span", printed: "s", decimals: 3, small: "ms",
		units: []unit{{"us", 1e-6}, {"ms", 1e-3}, {"s", 1}, {"min", 60}, {"h", 3600}}},
}

// factor is 1 for a unit that the row does not know.
func (r dimensionRow) factor(name string) float64 {
	for _, u := range r.units {
		if u.name == name {
			return u.factor
		}
	}
	return 1
}

// bare reports whether a value of the dimension may stand without a unit.
func (r dimensionRow) bare() bool {
	return len(r.units) > 0 && r.units[0].name == ""
}
