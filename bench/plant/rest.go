package plant

// StepMotion is Step for whoever knows that brake coils and Faults are as they were in the
// last step and that BrakesSettled.
func (p *Plant) StepMotion(in *Input) {
	if p.books != nil {
		p.stepBooked(in)
		return
	}
	for i := range p.main {
		m := &p.main[i]
		switch {
		case m.still && m.unchanged(&p.state, in):
		case m.rigid:
			p.stepRigid(m, in)
		default:
			p.stepElastic(m, in)
		}
	}
	for i := range p.polarization {
		a := &p.polarization[i]
		if !a.still || in.MotorTorque[a.motor] != p.state.MotorTorque[a.motor] {
			p.stepPolarization(a, in)
		}
	}
}

// BrakesSettled tells that every brake is where it is going.
func (p *Plant) BrakesSettled() bool { return !p.brakesBusy }

// Stands tells that nothing on the axis moved in the last step: its state is what
// it was before that.
func (p *Plant) Stands(axis Axis) bool {
	if axis.Main() {
		return p.main[axis].still
	}
	return p.polarization[axis-MainAxes].still
}

// AtRest tells that no step under this input would change anything, as long as the
// Faults stay what they were in the last one.
func (p *Plant) AtRest(in *Input) bool {
	if p.books != nil || p.brakesBusy || in.BrakeCoil != p.coils {
		return false
	}
	for i := range p.main {
		if m := &p.main[i]; !m.still || !m.unchanged(&p.state, in) {
			return false
		}
	}
	for i := range p.polarization {
		a := &p.polarization[i]
		if !a.still || in.MotorTorque[a.motor] != p.state.MotorTorque[a.motor] {
			return false
		}
	}
	return true
}
