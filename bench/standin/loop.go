package standin

import (
	"math"

	"haltmark/emulators/cia402"
)

const (
	// limitInset is how far inside its software limit an axis is planned to come
	// to rest, rad: 0.05 deg, more than its encoder and its gear are off by.
	limitInset = 0.05 * math.Pi / 180
	// limitRampShare of its acceleration is what that stop is planned with.
	limitRampShare = 0.8
	// rateShare bounds reference and correction together, in full rates, and
	// slowRateShare in slow ones, which need room to catch up in.
	rateShare     = 1.03
	slowRateShare = 1.2
)

// settle finds the torque that holds the load when its brakes have just opened: the
// motors' speed is integrated faster than the position loop would, and the axis
// holds where that leaves it.
func (a *axis) settle(dt float64) {
	wv := 2 * math.Pi * float64(a.set.SpeedLoop)
	a.integral -= float64(float64(a.set.Inertia) * wv * wv / 4 * a.motorRate() * dt)
	a.ref = atRest(a.position)
	a.closeLoop(dt)
}

// followGoal advances the reference towards the goal, inside the software limits.
func (a *axis) followGoal(dt float64) {
	s := shape{float64(a.set.Acceleration), float64(a.set.StopJerk)}
	switch a.goal.kind {
	case goalHold:
		a.ref.towardRate(0, a.stopShape(), dt)
	case goalPosition:
		a.ref.towardPosition(a.goal.value, a.goal.rateMax, s, dt)
	case goalRate:
		a.ref.towardRate(a.insideLimits(a.goal.value), s, dt)
	}
}

func (a *axis) stopShape() shape {
	return shape{float64(a.set.StopRamp), float64(a.set.StopJerk)}
}

// insideLimits is the rate that still lets the axis come to rest at the
// software limit ahead of it.
func (a *axis) insideLimits(rate float64) float64 {
	s := a.limitShape
	lower := float64(a.set.SoftwareLimits[0]) + limitInset
	upper := float64(a.set.SoftwareLimits[1]) - limitInset
	// One cycle of travel and the build-up of the acceleration are kept in hand.
	hand := math.Abs(a.ref.rate) * (0.04 + s.acceleration/s.jerk/2)
	if rate > 0 {
		room := upper - a.ref.position - hand
		return math.Min(rate, brakingRate(room, s))
	}
	room := a.ref.position - lower - hand
	return math.Max(rate, -brakingRate(room, s))
}

// rateLimit bounds reference and correction together: no correction takes an axis to
// overspeed, and none takes hand control much beyond what it asks for.
func (a *axis) rateLimit() float64 {
	if full := float64(a.set.FullRate); a.goal.kind != goalRate || a.goal.rateMax >= full {
		return rateShare * full
	}
	return slowRateShare * a.goal.rateMax
}

// closeLoop closes the position loop: rate feed-forward and position error into the
// drives' speed loops, integral and acceleration torque through their offset.
func (a *axis) closeLoop(dt float64) {
	wp := 2 * math.Pi * float64(a.set.PositionLoop)
	wv := 2 * math.Pi * float64(a.set.SpeedLoop)
	deviation := 0.0
	if !a.encoderLost && !a.atStandstill() {
		deviation = a.ref.position - a.position
	}
	rate := clamp(a.ref.rate+wp*deviation, a.rateLimit())
	inertia := float64(a.set.Inertia)
	switch lag := rate - a.motorRate(); {
	case a.motors[0].ridesThrough(): // the drive's loop is the one that is closed
	case a.obstructed || a.atStandstill() && !a.encoderLost:
		a.integral += float64(inertia * wv * wp / 3 * (a.ref.rate - a.motorRate()) * dt)
	case a.encoderLost: // what it has put into the integral must be out by standstill
		a.integral += float64(inertia * wv * wv / 8 * (a.ref.rate - a.motorRate()) * dt)
	case math.Abs(wp*deviation) < float64(a.set.StandstillRate) || lag*deviation > 0:
		// No winding up while the motors already run ahead of their command.
		a.integral += float64(inertia * wv * wp * wp / 3 * deviation * dt)
	}
	a.integral = clamp(a.integral, float64(a.set.Motors)*float64(a.set.RatedTorque))
	// Friction known beforehand is not waited for: what sticks would leap.
	known := float64(a.set.Friction) * clamp(a.ref.rate/float64(a.set.StandstillRate), 1)
	share := (a.integral + known + inertia*a.ref.acceleration) / float64(a.set.Motors)
	for m := 0; m < a.set.Motors; m++ {
		a.out[m] = driveCommand{cia402.CommandEnableOperation, rate, share + a.bias(m)}
	}
}
