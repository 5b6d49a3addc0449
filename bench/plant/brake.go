package plant

import (
	"math"
	"time"
)

// A brake closed by a drive that pushes it round is dragging. Below these two a
// shaft that is just coming to rest would be called so for a step.
const (
	dragRateRadPerS = 1.7e-4 // 0.01 deg/s, below any station's standstill rate
	dragTorqueRatio = 0.01   // of the brake's own torque
)

// brake is one shaft brake. Its torque is zero until the engage delay has
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

// brakesMove moves all brakes on by one step: what each can resist with in it,
// rubbing included. In a step that changes nothing about them it does nothing.
func (p *Plant) brakesMove(in *Input) {
	if !p.brakesBusy && in.BrakeCoil == p.coils && p.Faults.same(&p.faults) {
		return
	}
	p.coils, p.faults, p.brakesBusy = in.BrakeCoil, p.Faults, false
	s := &p.state
	for m := range p.brakes {
		b := &p.brakes[m]
		b.command(in.BrakeCoil[m], p.steps(p.Faults.BrakeLate[m]))
		p.brakesBusy = p.brakesBusy || b.pending
		set := (b.set || p.Faults.BrakeStuckSet[m]) && !p.Faults.BrakeStuckOpen[m]
		if set && !s.BrakeSet[m] {
			s.BrakeClosedAt[m] = s.MotorRate[m]
			s.BrakeEnergy[m] = 0
		}
		s.BrakeSet[m], s.BrakeDragging[m] = set, false
		grip := p.Faults.BrakeDrag[m]
		if set {
			grip += float64(b.torqueNm * p.Faults.BrakeScale[m])
		}
		p.grips[m] = grip
	}
	p.wake()
}

// same reports whether two sets of faults make the same torque, bit for bit. What
// makes the next change late matters only when that begins.
func (f *Faults) same(o *Faults) bool {
	var differ uint64
	for m := range f.BrakeScale {
		differ |= math.Float64bits(f.BrakeScale[m]) ^ math.Float64bits(o.BrakeScale[m])
		differ |= math.Float64bits(f.BrakeDrag[m]) ^ math.Float64bits(o.BrakeDrag[m])
	}
	return differ == 0 && f.BrakeStuckOpen == o.BrakeStuckOpen &&
		f.BrakeStuckSet == o.BrakeStuckSet
}

// tell notes what a brake did in the step that ends: its torque, over a mean
// rate, against a drive's torque. One without torque is none, and drags nothing.
func (p *Plant) tell(m int, brakeNm, driveNm, rateRadPerS float64) {
	s := &p.state
	s.BrakeTorque[m] = brakeNm
	if !s.BrakeSet[m] || p.brakes[m].torqueNm == 0 {
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
