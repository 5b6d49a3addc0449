package plant

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"haltmark/bench/quantity"
)

// ErrParameters is wrapped by every refusal of New and SetLimits.
var ErrParameters = errors.New("plant: parameters")

// The steps that New takes. A station runs at 0.125, 0.25 or 0.5 ms, and once more
// at double that; finer ones are for reference runs.
const (
	shortestStep = time.Microsecond
	longestStep  = time.Millisecond
)

// Plant is the mechanics of a station at one instant.
type Plant struct {
	// Faults may be changed between any two steps.
	Faults Faults

	set          Parameters
	step         time.Duration
	h            float64 // step, s
	main         [MainAxes]mainAxis
	polarization [AxisCount - MainAxes]polarizationAxis
	brakes       [MotorCount]brake
	state        State
	books        *[AxisCount]Energy // nil where none are kept

	// What the brakes were last moved by, and can resist with since, N m.
	coils      [MotorCount]bool
	faults     Faults
	grips      [MotorCount]float64
	brakesBusy bool // not all of them are where they are going
}

// New returns a plant at rest with all brakes set, each axis at the angle
// nearest to zero within its software limits (or travel). The step is 1 us to
// 1 ms, which doubles the coarsest of a station. An error names the axis and wraps ErrParameters.
func New(set Parameters, step time.Duration) (*Plant, error) {
	if step < shortestStep || step > longestStep {
		return nil, fmt.Errorf("%w: step %v is not within %v to %v",
			ErrParameters, step, shortestStep, longestStep)
	}
	p := &Plant{set: set, step: step, h: step.Seconds()}
	for axis := Azimuth; axis < AxisCount; axis++ {
		a := &p.set.Axes[axis]
		a.Motors = slices.Clone(a.Motors)
		if err := a.check(axis, p.h); err != nil {
			return nil, err
		}
		first, count := axis.Motors()
		for i := range count {
			m := &a.Motors[i]
			p.brakes[first+i] = brake{
				torqueNm: float64(m.BrakeTorque), set: true,
				engage: p.steps(m.BrakeEngage), release: p.steps(m.BrakeRelease),
			}
			p.state.BrakeSet[first+i] = true
			p.Faults.BrakeScale[first+i] = 1
		}
		if axis.Main() {
			p.main[axis] = newMainAxis(axis, a, p.h)
		} else {
			p.polarization[axis-MainAxes] = newPolarizationAxis(axis, a, p.h)
		}
		within := a.Travel
		if axis.Main() {
			within = a.Limits.Software
		}
		p.Place(axis, math.Max(float64(within[Lower]), math.Min(0, float64(within[Upper]))))
	}
	w := p.main[Azimuth].optional
	if w != nil && w.turning != nil && p.main[Elevation].optional == nil {
		p.main[Elevation].optional = &optional{} // for what the azimuth's turning does to it
	}
	for axis := range Axis(MainAxes) {
		if w := p.main[axis].optional; w != nil {
			w.pinOnly = p.seesPinOnly(axis)
		}
	}
	p.brakesBusy = true // so that the first step looks at them
	return p, nil
}

// Step moves the whole plant on by one step under the input. It does not
// allocate. A torque that is no number makes the axis's motion no number.
func (p *Plant) Step(in *Input) {
	p.brakesMove(in)
	p.StepMotion(in)
}

// State returns the plant's state: a view that the next Step overwrites.
func (p *Plant) State() *State { return &p.state }

// Place puts an axis at rest at a position (rad), its gears relaxed in the middle
// of their backlash, and forgets what its ends took. Brakes stay as they are.
func (p *Plant) Place(axis Axis, position float64) {
	s := &p.state
	s.Position[axis], s.Rate[axis] = position, 0
	s.BufferDepth[axis], s.BufferEnergy[axis] = 0, 0
	s.StructureDepth[axis], s.StructureHit[axis] = 0, false
	first, count := axis.Motors()
	for k := first; k < first+count; k++ {
		s.MotorPosition[k], s.MotorRate[k] = position, 0
		s.MotorTorque[k], s.GearTorque[k], s.BrakeTorque[k] = 0, 0, 0
		s.BrakeDragging[k] = false
	}
	if axis.Main() && p.main[axis].optional != nil {
		p.main[axis].optional.place(position)
	}
	if w := p.main[Azimuth].optional; axis == Elevation && w != nil && w.turning != nil {
		w.turning.placed = true
	}
	p.wake()
	p.ends(axis).note(s, axis)
}

// wake makes sure that every axis is stepped next.
func (p *Plant) wake() {
	for i := range p.main {
		p.main[i].still = false
	}
	for i := range p.polarization {
		p.polarization[i].still = false
	}
}

// SetLimits moves the buffers and the structure of a main axis, for what a
// controller believes wrongly about them.
func (p *Plant) SetLimits(axis Axis, chain LimitChain) error {
	if !axis.Main() {
		return fmt.Errorf("%w: %v has no limit chain", ErrParameters, axis)
	}
	a := p.set.Axes[axis]
	a.Limits = chain
	if err := a.check(axis, p.h); err != nil {
		return err
	}
	p.set.Axes[axis] = a
	p.main[axis].ends = newMainAxis(axis, &a, p.h).ends
	p.main[axis].ends.note(&p.state, axis)
	p.wake()
	return nil
}

// ends returns the ends of an axis's travel.
func (p *Plant) ends(axis Axis) *ends {
	if axis.Main() {
		return &p.main[axis].ends
	}
	return &p.polarization[axis-MainAxes].ends
}

// check refuses what cannot be stepped. It does not judge whether a station
// makes sense: that is the loader's task.
func (a *AxisParameters) check(axis Axis, h float64) error {
	bad := func(format string, args ...any) error {
		return fmt.Errorf("%w: %v: %s", ErrParameters, axis, fmt.Sprintf(format, args...))
	}
	_, count := axis.Motors()
	if len(a.Motors) != count {
		return bad("%d motors, need %d", len(a.Motors), count)
	}
	if !(a.LoadInertia > 0) {
		return bad("load inertia %v, need more than zero", a.LoadInertia)
	}
	for i, m := range a.Motors {
		if !(m.Inertia > 0) {
			return bad("inertia of motor %d %v, need more than zero", i+1, m.Inertia)
		}
		if !(m.BrakeTorque >= 0) || m.BrakeEngage < 0 || m.BrakeRelease < 0 {
			return bad("brake of motor %d below zero", i+1)
		}
		k := float64(a.Stiffness)
		load := float64(a.LoadInertia) * a.Reflector.mount()
		swing := h * math.Sqrt(k/load+k/2/float64(m.Inertia))
		if swing > 0.25 {
			return bad("gear swings %.2f rad a step, at most 0.25", swing)
		}
	}
	if !(a.LoadCoulomb >= 0 && a.LoadViscous >= 0 && a.LoadBreakaway >= 0) {
		return bad("friction below zero")
	}
	if a.LoadBreakaway > 0 && !(a.StribeckRate > 0) {
		return bad("breakaway friction without a Stribeck rate at which it fades")
	}
	if !(a.Stiffness >= 0 && a.Backlash >= 0 && a.GearDampingRatio >= 0) {
		return bad("stiffness, backlash or damping below zero")
	}
	if err := a.checkOptional(axis, h, bad); err != nil {
		return err
	}
	return a.checkEnds(axis, bad)
}

// checkEnds refuses ends that are not in order outward, or friction too small for
// a gear that is to hold by itself.
func (a *AxisParameters) checkEnds(axis Axis, bad func(string, ...any) error) error {
	if !axis.Main() {
		if !(a.LoadCoulomb > 0) {
			return bad("a gear that holds by itself has friction; none is given")
		}
		return inOrder(bad, a.Travel[Lower], a.Travel[Upper])
	}
	b, s := a.Limits.Buffer, a.Limits.Structure
	if b != s && !(a.BufferEnergy >= 0) {
		return bad("buffer energy below zero")
	}
	return inOrder(bad, s[Lower], b[Lower], b[Upper], s[Upper])
}

func inOrder(bad func(string, ...any) error, angles ...quantity.Angle) error {
	for i := 1; i < len(angles); i++ {
		if !(angles[i-1] <= angles[i]) {
			return bad("ends of travel out of order: %v beyond %v", angles[i-1], angles[i])
		}
	}
	return nil
}
