package plant

import (
	"math"

	"haltmark/bench/quantity"
)

// bodyState is where a body is and how fast it turns, rad and rad/s.
type bodyState struct{ position, rate float64 }

// reflector is the body that wind and gravity act on, on a spring on the mount.
type reflector struct {
	bodyState
	inertia            float64
	stiffness, damping float64 // N m/rad, N m s/rad
	throughNm          float64 // mount to reflector, in the last step
	gained             float64 // rate in the last step, rad/s
}

// What a reflector swings with below these, with its mount held, is taken as rest:
// a millionth of a millidegree and less.
const (
	restRateRadPerS   = 1e-11
	restGainedRadPerS = 1e-12
)

// mount is the share of the load that gears and friction act on.
func (r *ReflectorParameters) mount() float64 {
	if r.MountShare > 0 {
		return float64(r.MountShare)
	}
	return 1
}

func newReflector(a *AxisParameters, h float64) *reflector {
	inertia := float64(a.LoadInertia) * (1 - float64(a.Reflector.MountShare))
	omega := 2 * math.Pi * float64(a.Reflector.Frequency)
	return &reflector{
		inertia:   inertia,
		stiffness: inertia * omega * omega,
		damping:   2 * a.Reflector.DampingRatio * inertia * omega,
	}
}

// step moves the reflector on and returns what it puts on the mount, which is
// given at half the step.
func (r *reflector) step(w *optional, h, external float64, mount bodyState) float64 {
	half := r.position + float64(h/2*r.rate)
	r.throughNm = float64(r.stiffness*(mount.position-half)) +
		float64(r.damping*(mount.rate-r.rate))
	r.gained = h / r.inertia * (w.skyNm(external, half) + r.throughNm)
	r.rate += r.gained
	r.position = half + float64(h/2*r.rate)
	return -r.throughNm
}

// rest brings a swing that has died away to rest, and reports whether it has.
func (r *reflector) rest() bool {
	if math.Abs(r.rate) > restRateRadPerS || math.Abs(r.gained) > restGainedRadPerS {
		return false
	}
	r.rate = 0
	return true
}

// Reflector returns the position (rad) and rate (rad/s) of a main axis's
// reflector. Without one apart from the mount they are the load's.
func (p *Plant) Reflector(axis Axis) (position, rate float64) {
	if axis.Main() {
		if w := p.main[axis].optional; w != nil && w.reflector != nil {
			return w.reflector.position, w.reflector.rate
		}
	}
	return p.state.Position[axis], p.state.Rate[axis]
}

// StiffnessFromMode returns the stiffness, gear to mount, with which the lowest
// swing of mount and reflector, motors held, is at the locked-rotor frequency:
// w^2 (J_m + J_r/(1 - (w/w_r)^2)), w_r being the reflector's own. A reflector that
// swings no faster than that has no such stiffness, and gives zero.
func StiffnessFromMode(
	load quantity.Inertia, r ReflectorParameters, lockedRotor quantity.Frequency,
) quantity.Stiffness {
	if !(r.MountShare > 0) {
		return StiffnessFrom(load, lockedRotor)
	}
	if r.Frequency <= lockedRotor {
		return 0
	}
	ratio := float64(lockedRotor) / float64(r.Frequency)
	share := float64(r.MountShare)
	omega := 2 * math.Pi * float64(lockedRotor)
	seen := float64(load) * (share + (1-share)/(1-ratio*ratio))
	return quantity.Stiffness(omega * omega * seen)
}

// turning is an azimuth whose inertia goes with the elevation.
type turning struct {
	own       float64 // kg m^2, at the horizon, of the body that grows lighter
	lighter   float64 // kg m^2, less of it at zenith
	viscous   float64
	reflector bool    // that body is the reflector
	elevation float64 // rad, that inertia now is for
	inertia   float64 // kg m^2, now
	placed    bool    // inertia is to be taken anew without a change of rate
}

func newTurning(a *AxisParameters, onGear float64, reflector bool) *turning {
	t := &turning{
		lighter: float64(a.LighterAtZenith), own: onGear,
		viscous: float64(a.LoadViscous), reflector: reflector, placed: true,
	}
	if reflector {
		t.own = float64(a.LoadInertia) * (1 - float64(a.Reflector.MountShare))
	}
	t.inertia, t.elevation = t.own, math.NaN()
	return t
}

// at returns the inertia with the elevation at an angle, kg m^2.
func (t *turning) at(elevation float64) float64 {
	sine := math.Sin(elevation)
	return t.own - float64(t.lighter*float64(sine*sine))
}

// turnWith gives the azimuth the inertia that the elevation makes. Momentum stays;
// it returns what that gives to the kinetic energy, J.
func (p *Plant) turnWith(m *mainAxis) float64 {
	t, w, elevation := m.optional.turning, m.optional, p.state.Position[Elevation]
	if elevation == t.elevation {
		return 0
	}
	was, is := t.inertia, t.at(elevation)
	t.elevation, t.inertia = elevation, is
	rate := &p.state.Rate[m.axis]
	if t.reflector {
		w.reflector.inertia, rate = is, &w.reflector.rate
	} else {
		m.load.weigh(t.viscous, is, p.h)
	}
	if t.placed {
		t.placed = false
		return 0
	}
	before := 0.5 * was * *rate * *rate
	*rate *= was / is
	return 0.5*is**rate**rate - before
}

// centrifugalNm is what the turning azimuth puts on the elevation: half the slope
// of its inertia times the square of its rate.
func (p *Plant) centrifugalNm(elevation float64) float64 {
	w := p.main[Azimuth].optional
	if w == nil || w.turning == nil {
		return 0
	}
	rate := p.state.Rate[Azimuth]
	if w.turning.reflector {
		rate = w.reflector.rate
	}
	return -0.5 * w.turning.lighter * math.Sin(2*elevation) * rate * rate
}
