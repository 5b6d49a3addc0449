package plant

// polarizationAxis is one motor with a gear that holds by itself: the motor
// carries the load along through the gear's backlash, and nothing on the load moves
// the motor. So External does not act on it, and the load stays where the motor
// left it.
type polarizationAxis struct {
	axis         Axis
	motor        int
	body         body
	halfBacklash float64
	ends         ends
	still        bool // nothing moved in the last step
}

func newPolarizationAxis(axis Axis, a *AxisParameters, h float64) polarizationAxis {
	motor, _ := axis.Motors()
	inertia := float64(a.LoadInertia + a.Motors[0].Inertia)
	return polarizationAxis{
		axis: axis, motor: motor, body: newBody(a, inertia, h),
		halfBacklash: float64(a.Backlash) / 2, ends: newEnds(a, false, inertia),
	}
}

// press returns what the ends do to a motor that is beyond one: they push back
// only through the flank that leans on them.
func (a *polarizationAxis) press(motor, load float64) (elasticNm, upNm, downNm float64) {
	if low, high := motor-a.halfBacklash, motor+a.halfBacklash; low >= load {
		return a.ends.press(low)
	} else if high <= load {
		return a.ends.press(high)
	}
	return 0, 0, 0
}

func (p *Plant) stepPolarization(a *polarizationAxis, in *Input) {
	s, half := &p.state, p.h/2
	was, drive := s.MotorRate[a.motor], in.MotorTorque[a.motor]
	motor := s.MotorPosition[a.motor] + float64(half*was)
	load := s.Position[a.axis]
	var elastic, up, down float64
	if !a.ends.inside(motor) {
		elastic, up, down = a.press(motor, load)
	}
	grip := p.grips[a.motor]
	dry := a.body.frictionNm(was) + grip
	free := a.body.free(was, drive+elastic)
	now := clamp(free, a.body.scale*(dry+up), a.body.scale*(dry+down))
	motor += float64(half * now)
	s.MotorRate[a.motor], s.MotorPosition[a.motor] = now, motor
	s.MotorTorque[a.motor] = drive
	carried := now
	if low, high := motor-a.halfBacklash, motor+a.halfBacklash; low > load {
		load = low
	} else if high < load {
		load = high
	} else {
		carried = 0
	}
	s.Position[a.axis], s.Rate[a.axis] = load, carried
	a.still = was == 0 && now == 0
	share := 0.0
	if grip != 0 {
		share = (now - free) / a.body.scale * (grip / (dry + up + down))
	}
	p.tell(a.motor, share, drive, 0.5*(was+now))
	if !a.ends.clear(load) {
		a.ends.note(s, a.axis)
	}
}
