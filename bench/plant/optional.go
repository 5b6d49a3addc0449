package plant

import "math"

// optional is what a main axis has beyond load, motors and ends; each part may be
// missing. An axis without any has none, and steps as if this file were not.
type optional struct {
	gravityNm, phase float64
	reflector        *reflector
	turning          *turning
	pin              *pin
	wrap             *wrap

	// Of the step that runs: dry resistance of the pin to motion up and down, the
	// torque that another axis's turning puts on this one, and what it took from
	// or gave to this axis's kinetic energy.
	upNm, downNm float64
	coupledNm    float64
	coupledJ     float64

	pinOnly bool // nothing here acts while the pin is out
}

// acting is what an axis has beside load, motors and ends as far as it matters in
// this step; nil where that is a pin that is out and stays so.
func (m *mainAxis) acting(in *Input) *optional {
	w := m.optional
	if w != nil && w.pinOnly && !w.pin.asked && !in.Pin[m.axis] {
		return nil
	}
	return w
}

// seesPinOnly tells that an axis has nothing here but its pin. The elevation also
// feels an azimuth whose inertia it changes.
func (p *Plant) seesPinOnly(axis Axis) bool {
	w := p.main[axis].optional
	coupled := p.main[Azimuth].optional != nil && p.main[Azimuth].optional.turning != nil
	return w != nil && w.pin != nil && w.gravityNm == 0 && w.reflector == nil &&
		w.wrap == nil && !coupled
}

func newOptional(axis Axis, a *AxisParameters, onGear, h float64) *optional {
	w := &optional{gravityNm: float64(a.Gravity), phase: float64(a.GravityPhase)}
	has := a.Gravity != 0
	if a.Reflector.MountShare > 0 {
		has, w.reflector = true, newReflector(a, h)
	}
	if a.LighterAtZenith != 0 && axis == Azimuth {
		has, w.turning = true, newTurning(a, onGear, w.reflector != nil)
	}
	if a.Pin.Shear > 0 {
		has, w.pin = true, newPin(a, h)
	}
	if a.Wrap.Reach > 0 {
		has, w.wrap = true, newWrap(a)
	}
	if !has {
		return nil
	}
	return w
}

// unchanged reports whether what acts on the axis here is what did in the last step.
func (w *optional) unchanged(in *Input, axis Axis) bool {
	return w.coupledNm == 0 && (w.pin == nil || w.pin.asked == in.Pin[axis])
}

// skyNm is what wind and gravity put on the body that they act on.
func (w *optional) skyNm(external, position float64) float64 {
	if w.gravityNm != 0 {
		external += float64(w.gravityNm * math.Cos(position+w.phase))
	}
	return external
}

// optionalOnLoad moves reflector and pin on by a step and returns the torque on the
// load, gears and ends left out, and the rate that the load begins the step with.
// The position is the load's at half the step.
func (p *Plant) optionalOnLoad(m *mainAxis, in *Input, position float64) (onLoad, rate float64) {
	w, s := m.optional, &p.state
	if w.turning != nil {
		w.coupledJ = p.turnWith(m)
	}
	rate = s.Rate[m.axis]
	external := in.External[m.axis]
	if m.axis == Elevation {
		w.coupledNm = p.centrifugalNm(position)
		external += w.coupledNm
	}
	if w.reflector != nil {
		onLoad = w.reflector.step(w, p.h, external, bodyState{position, rate})
	} else {
		onLoad = w.skyNm(external, position)
	}
	w.upNm, w.downNm = 0, 0
	if w.pin != nil {
		if !w.pin.asked { // it may not have been looked at for long
			w.pin.rested, w.pin.slow = m.still, 0
		}
		w.pin.move(in.Pin[m.axis], s, m.axis)
		elastic, up, down := w.pin.press(position)
		onLoad += elastic
		w.upNm, w.downNm = up, down
	}
	return onLoad, rate
}

// after notes how the axis stands when its step is done, and keeps it from being
// taken for still while something of this goes on.
func (w *optional) after(m *mainAxis, position float64) {
	if w.wrap != nil {
		w.wrap.note(position)
	}
	if w.reflector != nil && m.still {
		m.still = w.reflector.rest()
	}
	if w.pin != nil {
		w.pin.rested = m.still
		m.still = m.still && !w.pin.waiting(position)
	}
}

// place puts all of it at rest at a position.
func (w *optional) place(position float64) {
	w.upNm, w.downNm, w.coupledNm, w.coupledJ = 0, 0, 0, 0
	if w.reflector != nil {
		w.reflector.bodyState = bodyState{position: position}
	}
	if w.pin != nil {
		w.pin.PinState, w.pin.asked = PinState{}, false
		w.pin.rested, w.pin.slow = false, 0
	}
	if w.wrap != nil {
		w.wrap.WrapState = WrapState{Least: w.wrap.reach}
		w.wrap.note(position)
	}
}

// checkOptional refuses what is out of range, or has no place on its axis.
func (a *AxisParameters) checkOptional(
	axis Axis, h float64, bad func(string, ...any) error,
) error {
	r, lighter := &a.Reflector, float64(a.LighterAtZenith)
	own := float64(a.LoadInertia) * (1 - float64(r.MountShare))
	switch {
	case !axis.Main() && (*r != ReflectorParameters{} || a.Gravity != 0 ||
		a.Pin != PinParameters{} || a.Wrap != WrapParameters{}):
		return bad("reflector, gravity, pin and wrap are of main axes only")
	case lighter != 0 && axis != Azimuth:
		return bad("inertia that goes with the elevation is the azimuth's alone")
	case !(r.MountShare >= 0 && r.MountShare < 1):
		return bad("mount has %v of the load, need zero to less than all", r.MountShare)
	case !(r.DampingRatio >= 0):
		return bad("damping of the reflector below zero")
	case r.MountShare > 0 && !(r.Frequency > 0):
		return bad("reflector apart from the mount without a frequency")
	case !(lighter < own):
		return bad("azimuth is lighter at zenith by %v, more than it turns", a.LighterAtZenith)
	case !(a.Pin.Play >= 0 && a.Pin.Shear >= 0 && a.Wrap.Reach >= 0):
		return bad("play or shear torque of the pin, or reach of the wrap, below zero")
	}
	if r.MountShare > 0 {
		// Mount and reflector against each other, the reflector at its lightest.
		omega := 2 * math.Pi * float64(r.Frequency)
		mount := float64(a.LoadInertia) * float64(r.MountShare)
		lightest := own - math.Max(0, lighter)
		swing := h * omega * math.Sqrt(own/lightest+own/mount)
		if swing > 0.25 {
			return bad("reflector swings %.2f rad a step, at most 0.25", swing)
		}
	}
	return nil
}
