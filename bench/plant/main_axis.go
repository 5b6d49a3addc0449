package plant

import "math"

// mainAxis is a load turned by two motors, each through its own gear and brake;
// or, rigid, all of it as one body.
type mainAxis struct {
	axis  Axis
	first int // index of its first of two motors
	rigid bool
	load  body // with the motors' inertia when rigid
	gear  gear
	rotor [2]float64 // step over inertia of each motor, s/(kg m^2)
	ends  ends
}

// gear is one motor's half of the spring between gear and load, with its play.
type gear struct {
	stiffness, damping float64 // N m/rad, N m s/rad
	halfPlay           float64 // rad
}

func newMainAxis(axis Axis, a *AxisParameters, h float64) mainAxis {
	first, _ := axis.Motors()
	m := mainAxis{axis: axis, first: first, rigid: a.Stiffness == 0}
	inertia := float64(a.LoadInertia)
	for i := range m.rotor {
		m.rotor[i] = h / float64(a.Motors[i].Inertia)
		if m.rigid {
			inertia += float64(a.Motors[i].Inertia)
		}
	}
	m.load = newBody(a, inertia, h)
	m.gear = gear{
		stiffness: float64(a.Stiffness) / 2,
		// 2 zeta sqrt(K J) is the locked-rotor mode's damping; each motor half.
		damping:  a.GearDampingRatio * math.Sqrt(float64(a.Stiffness)*inertia),
		halfPlay: float64(a.Backlash) / 2,
	}
	m.ends = newEnds(a, true, inertia)
	return m
}

// torqueNm is what a motor gives the load at a twist and its rate. Flanks push
// and never pull, except that without play both are always in contact.
func (g *gear) torqueNm(twist, rate float64) float64 {
	if g.halfPlay == 0 {
		return float64(g.stiffness*twist) + float64(g.damping*rate)
	}
	if twist > g.halfPlay {
		t := float64(g.stiffness*(twist-g.halfPlay)) + float64(g.damping*rate)
		if t < 0 {
			return 0
		}
		return t
	}
	if twist < -g.halfPlay {
		t := float64(g.stiffness*(twist+g.halfPlay)) + float64(g.damping*rate)
		if t > 0 {
			return 0
		}
		return t
	}
	return 0
}

// stepElastic moves the axis on as three bodies: load and two motors.
func (p *Plant) stepElastic(m *mainAxis, in *Input) {
	s, half := &p.state, p.h/2
	rate := s.Rate[m.axis]
	position := s.Position[m.axis] + float64(half*rate)
	onLoad := in.External[m.axis]
	for i := range m.rotor {
		k := m.first + i
		was, drive := s.MotorRate[k], in.MotorTorque[k]
		motor := s.MotorPosition[k] + float64(half*was)
		through := m.gear.torqueNm(motor-position, was-rate)
		onLoad += through
		free := was + float64(m.rotor[i]*(drive-through))
		slip := m.rotor[i] * p.grip(k, in.BrakeCoil[k])
		now := clamp(free, slip, slip)
		s.MotorRate[k] = now
		s.MotorPosition[k] = motor + float64(half*now)
		s.MotorTorque[k], s.GearTorque[k] = drive, through
		if slip == 0 && !s.BrakeSet[k] {
			s.BrakeTorque[k] = 0
			continue
		}
		p.tell(k, (now-free)/m.rotor[i], drive, (was+now)/2)
	}
	elastic, up, down := m.ends.press(position)
	dry := m.load.frictionNm(rate)
	scale := m.load.gain * m.load.perInertia
	free := m.load.free(rate, onLoad+elastic)
	now := clamp(free, scale*(dry+up), scale*(dry+down))
	s.Rate[m.axis] = now
	s.Position[m.axis] = position + float64(half*now)
	m.ends.note(s, m.axis)
}

// stepRigid moves the axis on as one body; brakes and friction clamp it together.
func (p *Plant) stepRigid(m *mainAxis, in *Input) {
	s, half := &p.state, p.h/2
	rate := s.Rate[m.axis]
	position := s.Position[m.axis] + float64(half*rate)
	torque := in.External[m.axis]
	dry := m.load.frictionNm(rate)
	var grips [2]float64
	for i := range grips {
		torque += in.MotorTorque[m.first+i]
		grips[i] = p.grip(m.first+i, in.BrakeCoil[m.first+i])
		dry += grips[i]
	}
	elastic, up, down := m.ends.press(position)
	scale := m.load.gain * m.load.perInertia
	free := m.load.free(rate, torque+elastic)
	now := clamp(free, scale*(dry+up), scale*(dry+down))
	s.Rate[m.axis] = now
	s.Position[m.axis] = position + float64(half*now)
	resisted := dry + up
	if now-free > 0 {
		resisted = dry + down
	}
	for i, grip := range grips {
		k := m.first + i
		s.MotorRate[k], s.MotorPosition[k] = now, s.Position[m.axis]
		s.MotorTorque[k] = in.MotorTorque[k]
		share := 0.0
		if resisted > 0 {
			// Of a common resistance each takes its part by size.
			share = (now - free) / scale * grip / resisted
		}
		p.tell(k, share, in.MotorTorque[k], (rate+now)/2)
	}
	m.ends.note(s, m.axis)
}
