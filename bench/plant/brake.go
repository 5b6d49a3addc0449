package plant

import "time"

// A brake closed by a drive that pushes it round is dragging. Below these two a
// shaft that is just coming to rest would be called so for a step.
const (
	dragRateRadPerS = 1.7e-4 // 0.01 deg/s, below any station's standstill rate
	dragTorqueRatio = 0.01   // of the brake's own torque
)

// brake is one shaft brake. Its torque is nought until the engage delay has
// passed and full after it, and the other way round on release.
type brake struct {
	torqueNm        float64
	engage, release int32 // steps
	wait            int32 // steps still to pass before a pending change
	coil            bool  // as last commanded
	set             bool  // as its own mechanism stands, stuck or not
	pending         bool
}

// command starts, continues or takes back a change of the brake. A change that
// is taken back within its delay never happened.
func (b *brake) command(coil bool, lateSteps int32) {
	if coil != b.coil {
		b.coil = coil
		b.pending = b.set == coil
		b.wait = b.release
		if !coil {
			b.wait = b.engage + lateSteps
		}
	}
	if !b.pending {
		return
	}
	if b.wait <= 0 {
		b.set = !coil
		b.pending = false
		return
	}
	b.wait--
}

// grip moves brake m on by one step and returns the torque by which it can
// resist motion in this step, rubbing included.
func (p *Plant) grip(m int, coil bool) float64 {
	b, s := &p.brakes[m], &p.state
	if b.pending || coil != b.coil {
		b.command(coil, p.steps(p.Faults.BrakeLate[m]))
	}
	set := (b.set || p.Faults.BrakeStuckSet[m]) && !p.Faults.BrakeStuckOpen[m]
	if set != s.BrakeSet[m] {
		s.BrakeSet[m] = set
		s.BrakeDragging[m] = false
		if set {
			s.BrakeClosedAt[m] = s.MotorRate[m]
			s.BrakeEnergy[m] = 0
		}
	}
	if !set {
		return p.Faults.BrakeDrag[m]
	}
	return float64(b.torqueNm*p.Faults.BrakeScale[m]) + p.Faults.BrakeDrag[m]
}

// tell notes what a brake did in the step that ends: its torque, over a mean
// rate, against a drive's torque.
func (p *Plant) tell(m int, brakeNm, driveNm, rateRadPerS float64) {
	s := &p.state
	s.BrakeTorque[m] = brakeNm
	if !s.BrakeSet[m] {
		return
	}
	s.BrakeEnergy[m] -= float64(float64(brakeNm*rateRadPerS) * p.h)
	with := driveNm
	if rateRadPerS < 0 {
		with, rateRadPerS = -driveNm, -rateRadPerS
	}
	s.BrakeDragging[m] = rateRadPerS > dragRateRadPerS &&
		with > dragTorqueRatio*p.brakes[m].torqueNm
}

// steps returns the whole steps nearest to a span.
func (p *Plant) steps(span time.Duration) int32 {
	return int32((span + p.step/2) / p.step)
}
