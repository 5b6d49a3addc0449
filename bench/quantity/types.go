package quantity

// Angle is in radians.
type Angle float64

// Rate is an angular rate in rad/s.
type Rate float64

// Acceleration is an angular acceleration in rad/s^2.
type Acceleration float64

// Jerk is the rate of change of an angular acceleration, in rad/s^3.
type Jerk float64

// Torque is in N m.
type Torque float64

// Inertia is a moment of inertia in kg m^2.
type Inertia float64

// Stiffness is torsional, in N m/rad.
type Stiffness float64

// Damping is viscous and torsional, in N m s/rad.
type Damping float64

// Energy is in joules.
type Energy float64

// Speed is a linear speed in m/s, of wind as a rule.
type Speed float64

// Frequency is in hertz.
type Frequency float64

// Length is in metres.
type Length float64

// Ratio is a number without a unit; where it is a share it runs from 0 to 1.
type Ratio float64

const pi = 3.14159265358979323846264338327950288

// Unit constants: multiply a number by one of them to make a quantity.
const (
	Radian      Angle = 1
	Degree      Angle = pi / 180
	Millidegree Angle = Degree / 1000

	RadianPerSecond     Rate = 1
	DegreePerSecond     Rate = pi / 180
	RevolutionPerMinute Rate = pi / 30

	RadianPerSecondSquared Acceleration = 1
	DegreePerSecondSquared Acceleration = pi / 180

	RadianPerSecondCubed Jerk = 1
	DegreePerSecondCubed Jerk = pi / 180

	NewtonMetre     Torque = 1
	KilonewtonMetre Torque = 1e3

	KilogramMetreSquared Inertia = 1
	TonneMetreSquared    Inertia = 1e3
	TonneSquareMetre     Inertia = 1e3

	NewtonMetrePerRadian     Stiffness = 1
	KilonewtonMetrePerRadian Stiffness = 1e3
	MeganewtonMetrePerRadian Stiffness = 1e6

	NewtonMetreSecondPerRadian     Damping = 1
	KilonewtonMetreSecondPerRadian Damping = 1e3

	Joule     Energy = 1
	Kilojoule Energy = 1e3

	MetrePerSecond Speed = 1

	Hertz     Frequency = 1
	Kilohertz Frequency = 1e3
	Megahertz Frequency = 1e6
	Gigahertz Frequency = 1e9

	Metre      Length = 1
	Millimetre Length = 1e-3

	One     Ratio = 1
	Percent Ratio = 0.01
)

// Degrees reads the angle in degrees.
func (a Angle) Degrees() float64 { return float64(a / Degree) }

// Radians reads the angle in radians.
func (a Angle) Radians() float64 { return float64(a) }

func (a Angle) String() string { return Format(DimAngle, float64(a)) }

// DegreesPerSecond reads the rate in deg/s.
func (r Rate) DegreesPerSecond() float64 { return float64(r / DegreePerSecond) }

// RevolutionsPerMinute reads the rate in rpm.
func (r Rate) RevolutionsPerMinute() float64 { return float64(r / RevolutionPerMinute) }

func (r Rate) String() string { return Format(DimRate, float64(r)) }

// DegreesPerSecondSquared reads the acceleration in deg/s^2.
func (a Acceleration) DegreesPerSecondSquared() float64 {
	return float64(a / DegreePerSecondSquared)
}

func (a Acceleration) String() string { return Format(DimAcceleration, float64(a)) }

// DegreesPerSecondCubed reads the jerk in deg/s^3.
func (j Jerk) DegreesPerSecondCubed() float64 { return float64(j / DegreePerSecondCubed) }

func (j Jerk) String() string { return Format(DimJerk, float64(j)) }

// NewtonMetres reads the torque in N m.
func (t Torque) NewtonMetres() float64 { return float64(t) }

// KilonewtonMetres reads the torque in kN m.
func (t Torque) KilonewtonMetres() float64 { return float64(t / KilonewtonMetre) }

func (t Torque) String() string { return Format(DimTorque, float64(t)) }

// TonneSquareMetres reads the inertia in t m^2.
func (i Inertia) TonneSquareMetres() float64 { return float64(i / TonneSquareMetre) }

func (i Inertia) String() string { return Format(DimInertia, float64(i)) }

// MeganewtonMetresPerRadian reads the stiffness in MN m/rad.
func (s Stiffness) MeganewtonMetresPerRadian() float64 {
	return float64(s / MeganewtonMetrePerRadian)
}

func (s Stiffness) String() string { return Format(DimStiffness, float64(s)) }

func (d Damping) String() string { return Format(DimDamping, float64(d)) }

// Joules reads the energy in J.
func (e Energy) Joules() float64 { return float64(e) }

func (e Energy) String() string { return Format(DimEnergy, float64(e)) }

// MetresPerSecond reads the speed in m/s.
func (s Speed) MetresPerSecond() float64 { return float64(s) }

func (s Speed) String() string { return Format(DimSpeed, float64(s)) }

// Hertz reads the frequency in Hz.
func (f Frequency) Hertz() float64 { return float64(f) }

func (f Frequency) String() string { return Format(DimFrequency, float64(f)) }

// Metres reads the length in m.
func (l Length) Metres() float64 { return float64(l) }

func (l Length) String() string { return Format(DimLength, float64(l)) }

func (r Ratio) String() string { return Format(DimRatio, float64(r)) }
