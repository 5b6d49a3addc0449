package plant

// polarizationAxis is one motor with a gear that holds by itself: the motor
// carries the load along through the gear's play, and nothing on the load moves
// the motor. So External does not act on it, and the load stays where the motor
// left it.
type polarizationAxis struct {
	axis     Axis
	motor    int
	body     body
	halfPlay float64
	ends     ends
}

func newPolarizationAxis(axis Axis, a *AxisParameters, h float64) polarizationAxis {
	motor, _ := axis.Motors()
	inertia := float64(a.LoadInertia + a.Motors[0].Inertia)
	return polarizationAxis{
		axis: axis, motor: motor, body: newBody(a, inertia, h),
		halfPlay: float64(a.Backlash) / 2, ends: newEnds(a, false, inertia),
	}
}

func (p *Plant) stepPolarization(a *polarizationAxis, in *Input) {
	s, half := &p.state, p.h/2
	was, drive := s.MotorRate[a.motor], in.MotorTorque[a.motor]
	motor := s.MotorPosition[a.motor] + float64(half*was)
	load := s.Position[a.axis]
	var elastic, up, down float64
	if low, high := motor-a.halfPlay, motor+a.halfPlay; low >= load {
		elastic, up, down = a.ends.press(low)
	} else if high <= load {
		elastic, up, down = a.ends.press(high)
	}
	grip := p.grip(a.motor, in.BrakeCoil[a.motor])
	dry := a.body.frictionNm(was) + grip
	scale := a.body.gain * a.body.perInertia
	free := a.body.free(was, drive+elastic)
	now := clamp(free, scale*(dry+up), scale*(dry+down))
	motor += float64(half * now)
	s.MotorRate[a.motor], s.MotorPosition[a.motor] = now, motor
	s.MotorTorque[a.motor] = drive
	s.Rate[a.axis] = 0
	if low, high := motor-a.halfPlay, motor+a.halfPlay; low > load {
		s.Position[a.axis], s.Rate[a.axis] = low, now
	} else if high < load {
		s.Position[a.axis], s.Rate[a.axis] = high, now
	}
	if grip > 0 {
		share := (now - free) / scale * grip / (dry + up + down)
		p.tell(a.motor, share, drive, (was+now)/2)
	} else {
		s.BrakeTorque[a.motor] = 0
	}
	a.ends.note(s, a.axis)
}
