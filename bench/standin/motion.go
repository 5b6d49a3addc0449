package standin

import "math"

// motion is the reference an axis follows: position, rate and acceleration in
// rad, rad/s and rad/s^2, advanced once a control cycle.
type motion struct {
	position, rate, acceleration float64
}

// shape bounds a motion: acceleration in rad/s^2, jerk in rad/s^3, both above 0.
type shape struct {
	acceleration, jerk float64
}

// towardRate advances the motion by dt seconds towards the wanted rate, with the
// acceleration built up and taken away at the jerk.
func (m *motion) towardRate(wanted float64, s shape, dt float64) {
	gap := wanted - m.rate
	// From aim on, the acceleration taken away by jerk*dt a cycle sums up to the gap:
	// gap = aim*dt/2 + aim^2/(2*jerk). The sampled law ends as softly as it begins.
	half := dt / 2
	soft := s.jerk * (math.Sqrt(float64(half*half)+2*math.Abs(gap)/s.jerk) - half)
	aim := math.Copysign(math.Min(s.acceleration, soft), gap)
	change := clamp(aim-m.acceleration, s.jerk*dt)
	m.acceleration += change
	step := float64(m.acceleration * dt)
	if math.Abs(gap) <= math.Abs(step) && step*gap >= 0 {
		m.position += float64(wanted * dt)
		m.rate, m.acceleration = wanted, 0
		return
	}
	m.position += float64(m.rate*dt) + float64(step*dt/2)
	m.rate += step
}

// brakingRate is the highest rate, in rad/s, from which the motion can still
// come to rest within the distance (rad, 0 or more): the solution for v of
// d = v^2/(2a) + v*a/(2j).
func brakingRate(distance float64, s shape) float64 {
	if distance <= 0 {
		return 0
	}
	half := s.acceleration / (2 * s.jerk)
	return s.acceleration * (math.Sqrt(half*half+2*distance/s.acceleration) - half)
}

// towardPosition advances the motion towards a position at no more than the
// given rate and settles on it without passing it.
func (m *motion) towardPosition(target, rateMax float64, s shape, dt float64) {
	gap := target - m.position
	// One cycle of travel is kept in hand, since the brake law is sampled.
	reach := math.Abs(gap) - math.Abs(m.rate)*dt
	soft := shape{acceleration: 0.8 * s.acceleration, jerk: s.jerk}
	aim := math.Min(rateMax, brakingRate(reach, soft))
	// Below this distance the law's last crawl would outlast its use.
	crawl := s.acceleration * dt * dt
	if math.Abs(gap) <= crawl && math.Abs(m.rate) <= s.acceleration*dt {
		m.position, m.rate, m.acceleration = target, 0, 0
		return
	}
	aim = math.Max(aim, math.Min(rateMax, math.Abs(gap)/(4*dt)*0.25))
	next := *m
	next.towardRate(math.Copysign(aim, gap), s, dt)
	switch passes := next.passes(target, math.Copysign(1, gap), s, dt); {
	case !passes:
		*m = next
	case m.rate == 0 && m.acceleration == 0: // the target is nearer than any motion goes
		*m = atRest(target)
	default:
		m.towardRate(0, s, dt)
	}
}

// passes reports whether a motion braked from now on would still go beyond the
// target, seen in the sense (+1 or -1) in which it is approached.
func (m motion) passes(target, sense float64, s shape, dt float64) bool {
	for sense*(m.position-target) <= 0 {
		if sense*m.rate <= 0 && sense*m.acceleration <= 0 {
			return false
		}
		m.towardRate(0, s, dt)
	}
	return true
}

// atRest places the motion at a position, not moving.
func atRest(position float64) motion { return motion{position: position} }

// clamp limits value to +-limit.
func clamp(value, limit float64) float64 {
	return math.Max(-limit, math.Min(limit, value))
}
