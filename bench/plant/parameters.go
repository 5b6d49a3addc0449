package plant

import (
	"time"

	"haltmark/bench/quantity"
)

// Parameters is the mechanics of a whole station.
type Parameters struct {
	Axes [AxisCount]AxisParameters
}

// AxisParameters is the mechanics of one axis.
type AxisParameters struct {
	// Travel holds the mechanical ends of a polarization axis; a main axis uses Limits.
	Travel       [2]quantity.Angle
	Limits       LimitChain
	BufferEnergy quantity.Energy // what each buffer takes over its whole stroke

	LoadInertia quantity.Inertia
	LoadCoulomb quantity.Torque
	LoadViscous quantity.Damping
	// LoadBreakaway is friction on top of LoadCoulomb at rest. It fades with the
	// rate w as 1/(1 + (w/StribeckRate)^2). Nought is plain Coulomb friction.
	LoadBreakaway quantity.Torque
	StribeckRate  quantity.Rate

	// Stiffness is that of the whole axis, gear to load; each of two motors
	// carries half. Nought makes the axis one rigid body, without backlash.
	Stiffness quantity.Stiffness
	// GearDampingRatio is that of the locked-rotor mode, 0..1.
	GearDampingRatio float64
	Backlash         quantity.Angle // whole, of each motor, at the axis
	// Unbalance is the largest torque of gravity. Derive uses it; Step does not:
	// whoever steps the plant puts it into Input.External, or into Gravity.
	Unbalance quantity.Torque
	Motors    []MotorParameters // two on a main axis, one on a polarization axis

	// What follows is of main axes only, and zero is without it.

	// Reflector parts LoadInertia into a mount, which gears, friction, brakes and
	// ends of travel act on, and a reflector, which wind and gravity act on.
	// Position and Rate are then the mount's.
	Reflector ReflectorParameters
	// Gravity is an unbalance that turns with the axis: Step itself adds the
	// torque Gravity*cos(position + GravityPhase), which External then leaves out.
	Gravity      quantity.Torque
	GravityPhase quantity.Angle
	// LighterAtZenith is how much less than LoadInertia the azimuth has with the
	// elevation at 90 deg; between it goes with the squared sine of elevation.
	LighterAtZenith quantity.Inertia
	Pin             PinParameters
	Wrap            WrapParameters
}

// ConstantUnbalance is the part of Unbalance that whoever steps the plant puts
// into Input.External: none where gravity turns with the axis.
func (a *AxisParameters) ConstantUnbalance() quantity.Torque {
	if a.Gravity != 0 {
		return 0
	}
	return a.Unbalance
}

// ReflectorParameters is a reflector on its mount.
type ReflectorParameters struct {
	MountShare   quantity.Ratio     // of LoadInertia, 0..1; zero is one load
	Frequency    quantity.Frequency // of the reflector with the mount held
	DampingRatio float64            // of that swing, 0..1
}

// PinParameters is a stow pin: it holds the load within half its play of its place
// until its shear torque.
type PinParameters struct {
	At    quantity.Angle
	Play  quantity.Angle  // whole play of the pin in its hole
	Shear quantity.Torque // at the axis; zero is no pin
}

// WrapParameters is a cable wrap.
type WrapParameters struct {
	Neutral quantity.Angle // where the cables hang free
	Reach   quantity.Angle // how far each way from there they tear; zero is no wrap
}

// MotorParameters is one motor with its gear and its shaft brake, at the axis.
type MotorParameters struct {
	Inertia     quantity.Inertia
	BrakeTorque quantity.Torque
	// BrakeEngage is from coil off to full torque, zero before; BrakeRelease
	// is from coil on to no torque, full before.
	BrakeEngage, BrakeRelease time.Duration
}

// LimitChain is the order of ends of a main axis, inward to outward, as absolute
// axis angles, lower and upper.
type LimitChain struct {
	Software   [2]quantity.Angle // the controller's; no part of the mechanics
	PreLimit   [2]quantity.Angle
	FinalLimit [2]quantity.Angle
	Buffer     [2]quantity.Angle // where the buffer is touched
	Structure  [2]quantity.Angle // where its stroke ends
}

// Switches says which limit switches of an axis are actuated, lower and upper.
type Switches struct {
	PreLimit, FinalLimit [2]bool
}

// Actuated returns the switches that the axis actuates at a position, as wired
// and healthy. A switch stays actuated all the way outward of its point.
func (c *LimitChain) Actuated(position quantity.Angle) Switches {
	return Switches{
		PreLimit:   [2]bool{position <= c.PreLimit[Lower], position >= c.PreLimit[Upper]},
		FinalLimit: [2]bool{position <= c.FinalLimit[Lower], position >= c.FinalLimit[Upper]},
	}
}
