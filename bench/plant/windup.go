package plant

import "math"

// WindUp gives an axis that was placed at rest the static wind-up of its gears under a
// constant torque on the load (N m): its motors stay, its load goes to where the gears
// carry the torque. Without it an axis that is placed in wind swings for seconds
// before it rests. A rigid axis and a polarization axis have none.
func (p *Plant) WindUp(axis Axis, torqueNm float64) {
	if !axis.Main() || torqueNm == 0 || p.main[axis].rigid {
		return
	}
	a := &p.set.Axes[axis]
	twist := math.Abs(torqueNm)/float64(a.Stiffness) + float64(a.Backlash)/2
	p.state.Position[axis] += math.Copysign(twist, torqueNm)
	if w := p.main[axis].optional; w != nil {
		w.place(p.state.Position[axis]) // reflector and wrap go with the load
	}
	p.wake()
	p.ends(axis).note(&p.state, axis)
}
