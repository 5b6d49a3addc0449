package plant

import (
	"math"
	"time"

	"haltmark/bench/quantity"
)

// Duty is what a main axis is asked to do, beyond its mechanics.
type Duty struct {
	FullRate   quantity.Rate
	StopRamp   quantity.Acceleration
	StopJerk   quantity.Jerk
	PeakTorque quantity.Torque // of each motor
	WindTorque quantity.Torque // assisting, as WindTorqueMax gives it
	Reaction   time.Duration   // of the controller, cause at its input to ramp command
	Relay      time.Duration   // of the safety relay, before a brake loses its coil
	BrakesLate time.Duration   // added to the engage delay in the late variant
}

// The variants of a category 0 stop.
const (
	BothBrakes = iota
	WeakBrakes // both at weakBrake of their torque
	OneBrake
	LateBrakes // both late by Duty.BrakesLate

	Variants
)

// weakBrake is the share of its torque that a worn brake still has.
const weakBrake = 0.8

// Figures follow from an axis's mechanics and its duty, the axis taken as one
// rigid body.
type Figures struct {
	Inertia               quantity.Inertia // load and motors
	AssistingAcceleration quantity.Acceleration
	BrakeDeceleration     quantity.Acceleration // both brakes and friction
	OneBrakeDeceleration  quantity.Acceleration
	BrakeDelay            time.Duration  // relay and engage delay
	CategoryZero          [Variants]Stop // from full rate
	RampStop              Stop           // from full rate
	KineticEnergy         quantity.Energy
	BufferEnergyNeeded    quantity.Energy // of the longer stroke
}

// Derive returns what follows for a main axis.
func Derive(a AxisParameters, d Duty) Figures {
	inertia, brakes, weakest := a.LoadInertia, quantity.Torque(0), math.Inf(1)
	var engage time.Duration
	for _, m := range a.Motors {
		inertia += m.Inertia
		brakes += m.BrakeTorque
		weakest = math.Min(weakest, float64(m.BrakeTorque))
		engage = max(engage, m.BrakeEngage)
	}
	decelerate := func(brake quantity.Torque) quantity.Acceleration {
		return quantity.Acceleration(float64(brake+a.LoadCoulomb) / float64(inertia))
	}
	push := d.WindTorque + a.Unbalance
	f := Figures{
		Inertia:               inertia,
		AssistingAcceleration: quantity.Acceleration(float64(push) / float64(inertia)),
		BrakeDeceleration:     decelerate(brakes),
		OneBrakeDeceleration:  decelerate(quantity.Torque(weakest)),
		BrakeDelay:            d.Relay + engage,
		RampStop:              RampStop(d.FullRate, d.Reaction, d.StopRamp, d.StopJerk),
		KineticEnergy:         KineticEnergy(inertia, d.FullRate),
	}
	stop := func(late time.Duration, braking quantity.Acceleration) Stop {
		return CategoryZeroStop(d.FullRate, f.BrakeDelay+late, f.AssistingAcceleration, braking)
	}
	f.CategoryZero[BothBrakes] = stop(0, f.BrakeDeceleration)
	f.CategoryZero[WeakBrakes] = stop(0, decelerate(weakBrake*brakes))
	f.CategoryZero[OneBrake] = stop(0, f.OneBrakeDeceleration)
	f.CategoryZero[LateBrakes] = stop(d.BrakesLate, f.BrakeDeceleration)
	all := push + quantity.Torque(len(a.Motors))*d.PeakTorque
	f.BufferEnergyNeeded = BufferEnergyNeeded(f.KineticEnergy, all, a.Limits.stroke())
	return f
}

// stroke returns the longer of the two buffers' strokes.
func (c *LimitChain) stroke() quantity.Angle {
	return max(c.Buffer[Lower]-c.Structure[Lower], c.Structure[Upper]-c.Buffer[Upper])
}

// KineticEnergy returns J w^2/2.
func KineticEnergy(inertia quantity.Inertia, rate quantity.Rate) quantity.Energy {
	return quantity.Energy(0.5 * float64(inertia) * float64(rate) * float64(rate))
}

// BufferEnergyNeeded returns what a buffer has to take: the axis's kinetic energy
// and the work of all that pushes it, over the stroke.
func BufferEnergyNeeded(
	kinetic quantity.Energy, push quantity.Torque, stroke quantity.Angle,
) quantity.Energy {
	return kinetic + quantity.Energy(float64(push)*float64(stroke))
}

// StiffnessFrom returns the stiffness, gear to load, of an axis whose load swings
// at the locked-rotor frequency f: J (2 pi f)^2.
func StiffnessFrom(
	load quantity.Inertia, lockedRotor quantity.Frequency,
) quantity.Stiffness {
	omega := 2 * math.Pi * float64(lockedRotor)
	return quantity.Stiffness(float64(load) * omega * omega)
}
