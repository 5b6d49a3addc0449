package standin

import (
	"math"

	"haltmark/emulators/cia402"
)

// settle finds the torque that holds the load when its brakes have just let go: the
// motors' speed is integrated faster than the position loop would, and the axis
// holds where that leaves it.
func (a *axis) settle(dt float64) {
	wv := 2 * math.Pi * float64(a.set.SpeedLoop)
	a.pull -= float64(float64(a.set.Inertia) * wv * wv / 4 * a.motorRate() * dt)
	a.ref = atRest(a.position)
	a.drive(dt)
}

// pursue advances the reference toward the goal, inside the software limits.
func (a *axis) pursue(dt float64) {
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
	ramp := float64(a.set.StopRamp)
	if a.flaw.weakRamp {
		ramp /= 4
	}
	return shape{ramp, float64(a.set.StopJerk)}
}

// insideLimits is the rate that still lets the axis come to rest at the
// software limit ahead of it.
func (a *axis) insideLimits(rate float64) float64 {
	if a.unlimited {
		return rate
	}
	s := shape{0.8 * float64(a.set.Acceleration), float64(a.set.StopJerk)}
	if a.flaw.brakesTooLate {
		s.acceleration *= 3
	}
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

// fastest bounds reference and correction together: no correction takes an axis to
// overspeed, and none takes hand control much beyond what it asks for.
func (a *axis) fastest() float64 {
	if full := float64(a.set.FullRate); a.goal.kind != goalRate || a.goal.rateMax >= full {
		return rateShare * full
	}
	return slowRateShare * a.goal.rateMax
}

// drive closes the position loop: rate feed-forward and position error into the
// drives' speed loops, integral and acceleration torque through their offset.
func (a *axis) drive(dt float64) {
	wp := 2 * math.Pi * float64(a.set.PositionLoop)
	wv := 2 * math.Pi * float64(a.set.SpeedLoop)
	miss := 0.0
	if !a.blind && !a.parking() {
		miss = a.ref.position - a.position
	}
	rate := clamp(a.ref.rate+wp*miss, a.fastest())
	inertia := float64(a.set.Inertia)
	switch lag := rate - a.motorRate(); {
	case a.motors[0].ridesThrough(): // the drive's loop is the one that is closed
	case a.held || a.parking() && !a.blind:
		a.pull += float64(inertia * wv * wp / 3 * (a.ref.rate - a.motorRate()) * dt)
	case a.blind: // what the lie has put into the integral must be out by standstill
		a.pull += float64(inertia * wv * wv / 8 * (a.ref.rate - a.motorRate()) * dt)
	case math.Abs(wp*miss) < float64(a.set.StandstillRate) || lag*miss > 0:
		// No winding up while the motors already run ahead of their command.
		a.pull += float64(inertia * wv * wp * wp / 3 * miss * dt)
	}
	a.pull = clamp(a.pull, float64(a.set.Motors)*float64(a.set.RatedTorque))
	// Friction known beforehand is not waited for: what sticks would leap.
	known := float64(a.set.Friction) * clamp(a.ref.rate/float64(a.set.StandstillRate), 1)
	share := (a.pull + known + inertia*a.ref.acceleration) / float64(a.set.Motors)
	for m := 0; m < a.set.Motors; m++ {
		a.out[m] = motorSent{cia402.CommandEnableOperation, rate, share + a.bias(m)}
	}
}
