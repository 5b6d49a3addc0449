package plant

import (
	"math"
	"time"

	"haltmark/bench/quantity"
)

// Stop is how far an axis goes and how long it takes to stand, from the instant
// of the cause.
type Stop struct {
	Travel quantity.Angle
	Time   time.Duration
}

// noStop is what comes of torque that is not enough: no end of travel or time.
func noStop() Stop {
	return Stop{Travel: quantity.Angle(math.Inf(1)), Time: math.MaxInt64}
}

// RampStop returns the stop from a rate on a ramp that begins late by a span. A
// positive jerk bounds how fast the ramp is built up and removed; zero is
// none. d = v*late + v^2/2a + v*a/2j, t = late + v/a + a/j. A rate below a^2/j
// never reaches the ramp: there the peak is sqrt(v*j). Rates, ramp and jerk are
// not negative; without a ramp there is no stop.
func RampStop(
	rate quantity.Rate, late time.Duration, ramp quantity.Acceleration, jerk quantity.Jerk,
) Stop {
	v, a, j := float64(rate), float64(ramp), float64(jerk)
	if v == 0 {
		return Stop{Time: late}
	}
	if !(a > 0) {
		return noStop()
	}
	if j > 0 && v < a*a/j {
		a = math.Sqrt(v * j)
	}
	travel := v*late.Seconds() + v*v/(2*a)
	lasts := v / a
	if j > 0 {
		travel += v * a / (2 * j)
		lasts += a / j
	}
	return Stop{Travel: quantity.Angle(travel), Time: late + seconds(lasts)}
}

// CategoryZeroStop returns the stop from a rate when torque is gone at once,
// the axis is pushed outward by an assisting acceleration, and after a delay
// brakes and friction decelerate it: v1 = v + a_w t_b, d = v t_b + a_w t_b^2/2 +
// v1^2/(2(a_b - a_w)), T = t_b + v1/(a_b - a_w). The axis is one rigid body and
// friction helps only while braking. Brakes that do not outdo the push never
// stop it.
func CategoryZeroStop(
	rate quantity.Rate, delay time.Duration, assisting, braking quantity.Acceleration,
) Stop {
	v, t, aw := float64(rate), delay.Seconds(), float64(assisting)
	net := float64(braking) - aw
	v1 := v + aw*t
	if v1 == 0 {
		return Stop{Time: delay}
	}
	if !(net > 0) {
		return noStop()
	}
	return Stop{
		Travel: quantity.Angle(v*t + aw*t*t/2 + v1*v1/(2*net)),
		Time:   delay + seconds(v1/net),
	}
}

func seconds(s float64) time.Duration {
	return time.Duration(math.Round(s * float64(time.Second)))
}
