package plant

import "math"

// mainAxis is a load turned by two motors, each through its own gear and brake;
// or, rigid, all of it as one body.
type mainAxis struct {
	axis     Axis
	first    int // index of its first of two motors
	rigid    bool
	load     body // with the motors' inertia when rigid
	gear     gear
	rotor    [2]rotor
	ends     ends
	optional *optional // what the axis has beyond this; nil is nothing

	external float64 // N m, in the last step
	still    bool    // nothing moved in the last step
}

// rotor is one motor's inertia, over the step and under it.
type rotor struct{ perInertia, inertia float64 }

// gear is one motor's half of the spring between gear and load, with its backlash.
type gear struct {
	stiffness, damping float64 // N m/rad, N m s/rad
	halfBacklash       float64 // rad
}

func newMainAxis(axis Axis, a *AxisParameters, h float64) mainAxis {
	first, _ := axis.Motors()
	m := mainAxis{axis: axis, first: first, rigid: a.Stiffness == 0}
	inertia := float64(a.LoadInertia)
	gearDamping := a.GearDampingRatio * math.Sqrt(float64(a.Stiffness)*inertia)
	onGear := inertia * a.Reflector.mount()
	for i := range m.rotor {
		motor := float64(a.Motors[i].Inertia)
		m.rotor[i] = rotor{perInertia: h / motor, inertia: motor / h}
		if m.rigid {
			inertia += float64(a.Motors[i].Inertia)
			onGear += float64(a.Motors[i].Inertia)
		}
	}
	m.load = newBody(a, onGear, h)
	m.gear = gear{
		stiffness: float64(a.Stiffness) / 2,
		// 2 zeta sqrt(K J) is the locked-rotor mode's damping; each motor half.
		damping:      gearDamping,
		halfBacklash: float64(a.Backlash) / 2,
	}
	m.ends = newEnds(a, true, inertia)
	m.optional = newOptional(axis, a, onGear, h)
	return m
}

// torqueNm is what a motor gives the load at a twist and its rate. Flanks push
// and never pull, except that without backlash both are always in contact.
func (g *gear) torqueNm(twist, rate float64) float64 {
	free := g.halfBacklash
	if twist > free {
		twist -= free
	} else if twist < -free {
		twist += free
	} else if free > 0 {
		return 0
	}
	torque := float64(g.stiffness*twist) + float64(g.damping*rate)
	if free > 0 && torque*twist < 0 {
		return 0
	}
	return torque
}

// unchanged reports whether what acts on the axis is what acted in the last step.
// An axis that stood still through that one then does so through this one, bit
// for bit, and needs no step.
func (m *mainAxis) unchanged(s *State, in *Input) bool {
	k := m.first & 2 // zero or two, for the compiler's sake
	return in.MotorTorque[k] == s.MotorTorque[k] &&
		in.MotorTorque[k+1] == s.MotorTorque[k+1] && in.External[m.axis] == m.external &&
		(m.optional == nil || m.optional.unchanged(in, m.axis))
}

// stepElastic moves the axis on as three bodies: load and two motors.
func (p *Plant) stepElastic(m *mainAxis, in *Input) {
	s, half := &p.state, p.h/2
	rate := s.Rate[m.axis]
	position := s.Position[m.axis] + float64(half*rate)
	m.external = in.External[m.axis]
	onLoad := m.external
	var up, down float64
	beside := m.acting(in)
	if beside != nil {
		onLoad, rate = p.optionalOnLoad(m, in, position)
		up, down = beside.upNm, beside.downNm
	}
	still := rate == 0
	for i := range m.rotor {
		k := m.first + i
		was, drive := s.MotorRate[k], in.MotorTorque[k]
		motor := s.MotorPosition[k] + float64(half*was)
		through := m.gear.torqueNm(motor-position, was-rate)
		onLoad += through
		free := was + float64(m.rotor[i].perInertia*(drive-through))
		grip := p.grips[k]
		slip := m.rotor[i].perInertia * grip
		now := clamp(free, slip, slip)
		still = still && was == 0 && now == 0
		s.MotorRate[k] = now
		s.MotorPosition[k] = motor + float64(half*now)
		s.MotorTorque[k], s.GearTorque[k] = drive, through
		resisted := 0.0
		if grip != 0 {
			resisted = (now - free) * m.rotor[i].inertia
		}
		p.tell(k, resisted, drive, 0.5*(was+now))
	}
	var elastic float64
	if !m.ends.inside(position) {
		e, u, d := m.ends.press(position)
		elastic, up, down = e, up+u, down+d
	}
	dry := m.load.frictionNm(rate)
	free := m.load.free(rate, onLoad+elastic)
	now := clamp(free, m.load.scale*(dry+up), m.load.scale*(dry+down))
	s.Rate[m.axis] = now
	position += float64(half * now)
	s.Position[m.axis] = position
	m.still = still && now == 0
	if beside != nil {
		beside.after(m, position)
	}
	if !m.ends.clear(position) {
		m.ends.note(s, m.axis)
	}
}

// stepRigid moves the axis on as one body; brakes and friction clamp it together.
func (p *Plant) stepRigid(m *mainAxis, in *Input) {
	s, half := &p.state, p.h/2
	rate := s.Rate[m.axis]
	position := s.Position[m.axis] + float64(half*rate)
	m.external = in.External[m.axis]
	torque := m.external
	var up, down float64
	beside := m.acting(in)
	if beside != nil {
		torque, rate = p.optionalOnLoad(m, in, position)
		up, down = beside.upNm, beside.downNm
	}
	dry := m.load.frictionNm(rate)
	for k := m.first; k < m.first+2; k++ {
		torque += in.MotorTorque[k]
		dry += p.grips[k]
	}
	var elastic float64
	if !m.ends.inside(position) {
		e, u, d := m.ends.press(position)
		elastic, up, down = e, up+u, down+d
	}
	free := m.load.free(rate, torque+elastic)
	now := clamp(free, m.load.scale*(dry+up), m.load.scale*(dry+down))
	s.Rate[m.axis] = now
	position += float64(half * now)
	s.Position[m.axis] = position
	m.still = rate == 0 && now == 0
	if beside != nil {
		beside.after(m, position)
	}
	resisted := dry + up
	if now > free {
		resisted = dry + down
	}
	for k := m.first; k < m.first+2; k++ {
		s.MotorRate[k], s.MotorPosition[k] = now, position
		s.MotorTorque[k] = in.MotorTorque[k]
		share := 0.0
		if grip := p.grips[k]; grip != 0 {
			// Of a common resistance each takes its part by size.
			share = (now - free) / m.load.scale * (grip / resisted)
		}
		p.tell(k, share, in.MotorTorque[k], 0.5*(rate+now))
	}
	if !m.ends.clear(position) {
		m.ends.note(s, m.axis)
	}
}
