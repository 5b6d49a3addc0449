package drive

import (
	"math"

	"haltmark/emulators/cia402"
)

// atLimit is a ramp steeper than any motor follows: the torque limit decides.
const atLimit = 1e12

// slow begins a stop by the part of an option code that tells how to brake. A
// drive that was told a torque ramps from the speed that its motor has.
func (d *Drive) slow(option int16) {
	switch option {
	case cia402.StopSlowDown:
		d.slowBy = float64(d.set.Deceleration)
	case cia402.StopQuick:
		d.slowBy = float64(d.set.QuickStopDeceleration)
	default:
		d.slowBy = atLimit
	}
	if cia402.TorqueMode(d.mode) && !d.slowing {
		d.restart()
	}
	d.slowing, d.byVoltage = true, option == cia402.StopVoltageLimit
	d.off, d.reached = d.now, false
}

// endStop ends a stop once the ramp is down and the motor stands. Where the drive
// minds a brake, it first lets the brake close under torque.
func (d *Drive) endStop() {
	if d.demand != 0 || !(d.still || d.braking) || d.staysEnabled() {
		return
	}
	if d.set.BrakeHold > 0 {
		if !d.braking {
			d.braking, d.brakingSince = true, d.now
		}
		if d.now-d.brakingSince < d.set.BrakeHold {
			return
		}
	}
	switch {
	case d.state == cia402.FaultReactionActive:
		d.powerOff(cia402.Fault)
	case d.state == cia402.QuickStopActive:
		d.powerOff(cia402.SwitchOnDisabled)
	case d.closing:
		d.powerOff(d.closeTo)
	}
	// A brake that was minded stays closed until there is torque again.
	d.parked = d.set.BrakeHold > 0
}

// staysEnabled tells the stops that end with torque on: halt, and quick stop with
// options 5 to 8.
func (d *Drive) staysEnabled() bool {
	if d.state == cia402.QuickStopActive {
		return cia402.Stays(d.set.Options.QuickStop)
	}
	return d.state != cia402.FaultReactionActive && !d.closing
}

// move makes the torque of one step.
func (d *Drive) move(dt float64) {
	d.limited = false
	wanted := d.offset
	if d.Faults.OffsetError != 0 {
		wanted += float64(d.offset * float64(d.Faults.OffsetError))
	}
	limit := d.underVoltage(d.maxTorque)
	if cia402.TorqueMode(d.mode) && !d.slowing {
		wanted = d.limitSpeed(wanted + d.torqueLoop(dt))
	} else {
		wanted += d.speedLoop(dt)
	}
	if !d.plain {
		limit = d.available(wanted, limit)
	}
	if beyond(wanted, limit) {
		wanted = math.Copysign(limit, wanted)
		d.limited = true
	}
	d.torque = wanted
	if d.Faults.Runaway != 0 || d.Faults.TorqueLoss != 0 || d.Faults.ReversedTorque {
		d.spoilTorque()
	}
}

// speedLoop ramps the demand and gives the torque that its loop asks for.
func (d *Drive) speedLoop(dt float64) float64 {
	if d.slowing {
		d.reached = d.still && d.demand == 0
		d.lead(0, d.slowBy, d.slowBy, dt)
	} else {
		d.pursue(dt)
	}
	wanted := float64(d.gain * (d.demand - d.rate))
	if d.resetS > 0 {
		d.windUp(float64(wanted * dt / d.resetS))
	}
	return wanted + d.integral
}

// pursue takes the demand towards the target velocity.
func (d *Drive) pursue(dt float64) {
	target := d.targetVelocity
	if d.tooFast(target) {
		target = math.Copysign(d.largest, target)
		d.limited = true
	}
	d.inWindow(target)
	switch {
	case d.demand == target:
	case d.mode == cia402.ModeCyclicVelocity:
		d.follow(target, dt)
	default:
		d.lead(target, float64(d.set.Acceleration), float64(d.set.Deceleration), dt)
	}
}

// tooFast tells that a velocity is beyond objects 607F and 6080.
func (d *Drive) tooFast(target float64) bool { return d.largest > 0 && beyond(target, d.largest) }

// lead takes the demand to a target on ramps, rad/s^2.
func (d *Drive) lead(target, up, down, dt float64) {
	if d.demand != target {
		d.demand = ramp(d.demand, target, float64(up*dt), float64(down*dt))
	}
}

// windUp grows the integral, no further than the torque that there is.
func (d *Drive) windUp(by float64) {
	d.integral += by
	if limit := d.maxTorque; math.Abs(d.integral) > limit {
		d.integral = math.Copysign(limit, d.integral)
	}
}

// inWindow keeps track of objects 606D and 606E.
func (d *Drive) inWindow(target float64) {
	if beyond(target-d.rate, float64(d.set.VelocityOff)) {
		d.off, d.reached = d.now, false
		return
	}
	d.reached = d.now-d.off >= d.set.VelocityOffTime
}

// follow takes a set point of cyclic velocity: at once, or led to it in a straight
// line over the interpolation time.
func (d *Drive) follow(target, dt float64) {
	miss := target - d.demand
	if by := float64(d.slope * dt); d.set.Interpolation > 0 && math.Abs(miss) > by {
		d.demand += math.Copysign(by, miss)
		return
	}
	d.demand = target
}

// limitSpeed takes away torque that would drive the motor beyond object 6080,
// along the slope of the speed loop.
func (d *Drive) limitSpeed(wanted float64) float64 {
	largest := float64(d.set.MaxMotorSpeed)
	if largest == 0 {
		return wanted
	}
	cut := min(max(wanted, float64(d.gain*(-largest-d.rate))), float64(d.gain*(largest-d.rate)))
	d.limited = d.limited || cut != wanted
	return cut
}

// torqueLoop leads the torque demand to its target by the torque slope.
func (d *Drive) torqueLoop(dt float64) float64 {
	if d.set.TorqueSlope == 0 || d.mode == cia402.ModeCyclicTorque {
		d.torqueDemand = d.targetTorque
	} else if d.torqueDemand != d.targetTorque {
		by := float64(d.set.TorqueSlope / 1000 * float64(d.set.RatedTorque) * dt)
		d.torqueDemand = ramp(d.torqueDemand, d.targetTorque, by, by)
	}
	d.reached = d.torqueDemand == d.targetTorque
	if largest := float64(d.set.MaxVelocity); largest > 0 && math.Abs(d.rate) > largest {
		d.limited = true
	}
	return d.torqueDemand
}

// spoilTorque applies the faults of the power stage and the motor.
func (d *Drive) spoilTorque() {
	f := &d.Faults
	if f.Runaway != 0 {
		share := min(max(float64(f.Runaway), -1), 1)
		d.torque = share * float64(d.set.PeakTorque)
	}
	if f.ReversedTorque {
		d.torque = -d.torque
	}
	d.torque *= 1 - min(max(float64(f.TorqueLoss), 0), 1)
}

// beyond tells that the size of a value is above a limit.
func beyond(value, limit float64) bool { return math.Abs(value) > limit }

// ramp moves a value towards its target: by at most up away from zero, by at
// most down towards it. A value that changes sign comes to zero first.
func ramp(value, target, up, down float64) float64 {
	if value*target < 0 {
		target = 0
	}
	by := up
	if math.Abs(target) < math.Abs(value) {
		by = down
	}
	switch {
	case target > value+by:
		return value + by
	case target < value-by:
		return value - by
	}
	return target
}
