package plant

import "math"

// Energy is the account of one axis since its books were opened, in joules. What
// is held is a matter of state; work and heat are summed over the steps, force
// times way. None is made to fit: Missing says how far they are from agreeing.
type Energy struct {
	Opening float64 // all that was held then

	// Held now, of load, reflector and motors.
	Kinetic float64
	Spring  float64 // gears, reflector's spring, ends and pin
	Gravity float64 // against where gravity has no torque left to give

	// Work done on the axis.
	Drive   float64
	Wind    float64 // all that came as Input.External
	Coupled float64 // by the other axis's turning

	// Heat.
	Brake    float64 // brakes and what rubs like them
	Friction float64
	Damping  float64 // gears and reflector's spring
	End      float64 // buffers and structure
	Pin      float64
}

// Held is what the axis holds now, J.
func (e *Energy) Held() float64 { return e.Kinetic + e.Spring + e.Gravity }

// Work is what was put into the axis, J.
func (e *Energy) Work() float64 { return e.Drive + e.Wind + e.Coupled }

// Heat is what left the axis, J.
func (e *Energy) Heat() float64 {
	return e.Brake + e.Friction + e.Damping + e.End + e.Pin
}

// Missing is what the account does not explain, J: what the method of integration
// made or lost.
func (e *Energy) Missing() float64 { return e.Opening + e.Work() - e.Held() - e.Heat() }

// OpenBooks begins the energy account of every axis anew. Without it Step keeps
// none. The motion is the same, bit for bit.
func (p *Plant) OpenBooks() {
	p.books = &[AxisCount]Energy{}
	for axis := Azimuth; axis < AxisCount; axis++ {
		p.hold(axis)
		p.books[axis].Opening = p.books[axis].Held()
	}
}

// Energy returns the account of an axis, zero where no books are kept.
func (p *Plant) Energy(axis Axis) Energy {
	if p.books == nil {
		return Energy{}
	}
	p.hold(axis)
	return p.books[axis]
}

// hold writes what an axis holds into its account.
func (p *Plant) hold(axis Axis) {
	s, a, e := &p.state, &p.set.Axes[axis], &p.books[axis]
	first, count := axis.Motors()
	if !axis.Main() {
		// The motor carries the load: one body, wherever the backlash lets it be.
		rate := s.MotorRate[first]
		e.Kinetic = 0.5 * float64(a.LoadInertia+a.Motors[0].Inertia) * rate * rate
		e.Spring = p.ends(axis).held(s.Position[axis])
		return
	}
	m := &p.main[axis]
	load, sky := float64(a.LoadInertia)*a.Reflector.mount(), s.Position[axis]
	e.Kinetic, e.Spring = 0, m.ends.held(s.Position[axis])
	for i := range count {
		rate := s.MotorRate[first+i]
		e.Kinetic += 0.5 * float64(a.Motors[i].Inertia) * rate * rate
		e.Spring += m.gear.held(s.MotorPosition[first+i] - s.Position[axis])
	}
	if w := m.optional; w != nil {
		if t := w.turning; t != nil && !t.reflector && !math.IsNaN(t.elevation) {
			load -= t.own - t.inertia
		}
		if r := w.reflector; r != nil {
			twist := s.Position[axis] - r.position
			e.Kinetic += 0.5 * r.inertia * r.rate * r.rate
			e.Spring += 0.5 * r.stiffness * twist * twist
			sky = r.position
		}
		if w.pin != nil && w.pin.In {
			e.Spring += w.pin.hole.held(s.Position[axis])
		}
		e.Gravity = -w.gravityNm * math.Sin(sky+w.phase)
	}
	e.Kinetic += 0.5 * load * s.Rate[axis] * s.Rate[axis]
}

// held is what a gear's spring holds at a twist, J.
func (g *gear) held(twist float64) float64 {
	wound := math.Max(0, math.Abs(twist)-g.halfBacklash)
	return 0.5 * g.stiffness * wound * wound
}

// held is what the ends will give back from a position, J: of a buffer pressed
// home, and of the structure behind it.
func (e *ends) held(position float64) float64 {
	if e.inside(position) {
		return 0
	}
	end, buffer, structure := e.depth(position)
	return bufferReturn*e.bufferNm[end]*buffer*(buffer/2+structure) +
		structureReturn*e.structure*structure*structure/2
}

// stepBooked is Step with books, the brakes moved.
func (p *Plant) stepBooked(in *Input) {
	for i := range p.main {
		m := &p.main[i]
		if m.still && m.unchanged(&p.state, in) {
			continue
		}
		was := p.see(m)
		if m.rigid {
			p.stepRigid(m, in)
		} else {
			p.stepElastic(m, in)
		}
		p.book(m, &was, in)
	}
	for i := range p.polarization {
		a := &p.polarization[i]
		if a.still && in.MotorTorque[a.motor] == p.state.MotorTorque[a.motor] {
			continue
		}
		was := p.seePolarization(a)
		p.stepPolarization(a, in)
		p.bookPolarization(a, &was, in)
	}
}

// before is what the books need of an axis as it was.
type before struct {
	position, rate float64
	motor, turned  [2]float64 // motors' positions and rates
	reflector      bodyState
	pinned         bool
}

// see returns the axis as it is.
func (p *Plant) see(m *mainAxis) before {
	s, k := &p.state, m.first
	b := before{position: s.Position[m.axis], rate: s.Rate[m.axis]}
	copy(b.motor[:], s.MotorPosition[k:k+2])
	copy(b.turned[:], s.MotorRate[k:k+2])
	if w := m.optional; w != nil {
		if w.reflector != nil {
			b.reflector = w.reflector.bodyState
		}
		b.pinned = w.pin != nil && w.pin.In
	}
	return b
}

// book enters the step that ended into the axis's account.
func (p *Plant) book(m *mainAxis, b *before, in *Input) {
	s, e, half := &p.state, &p.books[m.axis], p.h/2
	moved := s.Position[m.axis] - b.position
	middle := b.position + half*b.rate
	for i := range b.motor {
		k := m.first + i
		turned := s.MotorPosition[k] - b.motor[i]
		e.Drive += in.MotorTorque[k] * turned
		e.Brake -= s.BrakeTorque[k] * turned
		if !m.rigid {
			twist := b.motor[i] + half*b.turned[i] - middle
			e.Damping += (s.GearTorque[k] - m.gear.elasticNm(twist)) * (turned - moved)
		}
	}
	viscous := float64(p.set.Axes[m.axis].LoadViscous)
	e.Friction += m.load.frictionNm(b.rate)*math.Abs(moved) + viscous*moved*moved/p.h
	_, up, down := m.ends.press(middle)
	e.End += dryJ(moved, up, down)
	onSky := moved
	if w := m.optional; w != nil {
		if w.reflector != nil {
			onSky = w.reflector.position - b.reflector.position
			twist := middle - (b.reflector.position + half*b.reflector.rate)
			e.Damping += (w.reflector.throughNm - w.reflector.stiffness*twist) * (moved - onSky)
		}
		e.Coupled += w.coupledNm*onSky + w.coupledJ
		e.Pin += dryJ(moved, w.upNm, w.downNm)
		if b.pinned && !w.pin.In {
			e.Pin += w.pin.hole.held(b.position)
		}
	}
	e.Wind += in.External[m.axis] * onSky
}

// seePolarization returns a polarization axis as it is, its motor being first.
func (p *Plant) seePolarization(a *polarizationAxis) before {
	s := &p.state
	return before{
		position: s.Position[a.axis],
		motor:    [2]float64{s.MotorPosition[a.motor]},
		turned:   [2]float64{s.MotorRate[a.motor]},
	}
}

// bookPolarization enters the step of a polarization axis.
func (p *Plant) bookPolarization(a *polarizationAxis, b *before, in *Input) {
	s, e, rate := &p.state, &p.books[a.axis], b.turned[0]
	turned := s.MotorPosition[a.motor] - b.motor[0]
	viscous := float64(p.set.Axes[a.axis].LoadViscous)
	e.Drive += in.MotorTorque[a.motor] * turned
	e.Brake -= s.BrakeTorque[a.motor] * turned
	e.Friction += a.body.frictionNm(rate)*math.Abs(turned) + viscous*turned*turned/p.h
	if middle := b.motor[0] + p.h/2*rate; !a.ends.inside(middle) {
		_, up, down := a.press(middle, b.position)
		e.End += dryJ(turned, up, down)
	}
}

// dryJ is the heat of moving against dry resistance.
func dryJ(moved, up, down float64) float64 {
	if moved > 0 {
		return moved * up
	}
	return -moved * down
}

// elasticNm is what a gear's spring alone gives at a twist.
func (g *gear) elasticNm(twist float64) float64 {
	wound := math.Max(0, math.Abs(twist)-g.halfBacklash)
	return math.Copysign(g.stiffness*wound, twist)
}
