// Package quantity owns the physical quantities of the bench: types that hold
// SI values, the fixed spelling of the trade units that people read and write,
// and the conversion between the two, which happens nowhere else.
//
// Every type is a float64 in SI (radians, rad/s, N m, kg m^2 and so on), made
// by multiplying with a unit constant, as in 12.5*quantity.Degree, and printed
// with its unit by %v. A value that is read without a unit is refused, and the
// message lists the units that would do.
//
// Torque and energy share a dimension in physics and are two types here; so
// are stiffness and damping beside them. Spans of time are time.Duration.
package quantity
