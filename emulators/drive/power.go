package drive

import (
	"errors"
	"fmt"
	"math"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// Thermal is how long the motor bears more than its rated torque: the integral of
// (torque/rated)^2 - 1 may reach what peak torque makes of it in PeakTime.
// Nought is a motor that bears all. Common practice.
type Thermal struct {
	PeakTime time.Duration
	// FoldBack cuts the torque to rated there, until half of the heat has gone;
	// otherwise the drive trips with 2350.
	FoldBack bool
}

// Link is the direct-current link behind the power stage, told by energies and
// times so that no voltage has to be known. Voltages are shares of the nominal.
// Nought is a link that gives and takes anything at the voltage of its supply.
type Link struct {
	Energy   quantity.Energy // stored at nominal voltage
	Chopper  quantity.Ratio  // the braking resistor acts above this
	Over     quantity.Ratio  // 3210
	Under    quantity.Ratio  // 3220
	Resistor time.Duration   // resistance times capacitance
	// Heat is what the resistor bears, 7110 beyond; it cools with the time
	// constant Cooling.
	Heat       quantity.Energy
	Cooling    time.Duration
	Efficiency quantity.Ratio // of motor and power stage, both ways; 0 means 1
	// Dip is the longest loss of supply that is only ridden through. After it the
	// drive ramps down on what its motor gives back, and ends in fault 3120.
	Dip time.Duration
}

// Energies is where the energy of a drive with a link went since it began, J.
type Energies struct {
	Drawn    float64 // from the supply
	Shaft    float64 // given to the motor's shaft, negative where it brakes
	Losses   float64 // in motor and power stage
	Resistor float64 // into the braking resistor
	Link     float64 // stored at present
}

// power is the state of the link and of the motor's heat.
type power struct {
	Energies
	known    bool
	turn     float64 // shaft angle at the last step
	mains    bool
	lost     time.Duration // supply gone since
	chopping bool
	hot      bool    // the resistor is beyond its heat
	heat     float64 // J in the resistor
	warm     float64 // s of the square
	folded   bool
	fade     fade
}

// fade is what goes in one step of a length, as shares: of the link through its
// resistor, of the resistor's heat. Steps of a run are all alike.
type fade struct{ dt, link, heat float64 }

func (f *fade) over(dt float64, l *Link) {
	if dt != f.dt {
		f.dt = dt
		f.link = -math.Expm1(-2 * dt / l.Resistor.Seconds())
		f.heat = -math.Expm1(-dt / l.Cooling.Seconds())
	}
}

// chopperBand is how far, as a share of its voltage, the chopper lets the link
// fall before it lets go. Common practice.
const chopperBand = 0.02

func (t Thermal) check(p Parameters) error {
	switch {
	case t.PeakTime < 0:
		return fmt.Errorf("drive: time at peak torque %v is below 0", t.PeakTime)
	case t.PeakTime > 0 && p.PeakTorque == p.RatedTorque:
		return errors.New("drive: a time at peak torque needs a peak above the rated torque")
	case t.PeakTime == 0 && t.FoldBack:
		return errors.New("drive: folding back needs a time at peak torque")
	}
	return nil
}

func (l Link) check() error {
	if l == (Link{}) {
		return nil
	}
	if !(l.Energy > 0) || math.IsInf(float64(l.Energy), 0) || l.Resistor <= 0 || !(l.Heat > 0) ||
		l.Cooling <= 0 || l.Dip < 0 {
		return errors.New("drive: a link needs energy, resistor, heat and cooling above 0, and " +
			"a dip of 0 or more")
	}
	if !(0 < l.Under && l.Under < 1 && 1 < l.Chopper && l.Chopper < l.Over && l.Over < 10) {
		return fmt.Errorf("drive: link voltages must be ordered: under %v, 100 %%, chopper %v, "+
			"over %v", l.Under, l.Chopper, l.Over)
	}
	if l.Under >= l.Chopper*(1-chopperBand) || !(0 <= l.Efficiency && l.Efficiency <= 1) {
		return fmt.Errorf("drive: link efficiency %v must be 0 to 100 %%", l.Efficiency)
	}
	return nil
}

// Energies tells where the energy went; zero without a link.
func (d *Drive) Energies() Energies { return d.power.Energies }

// feed carries link and heat through a step, and reports whether the power stage
// has a supply: the mains, or the link as long as it lasts.
func (d *Drive) feed(dt float64, in *Input) bool {
	p := &d.power
	if p.mains && !in.Supplied {
		p.lost = d.now
	}
	p.mains = in.Supplied
	if d.set.Thermal.PeakTime > 0 {
		d.warmUp(dt)
	}
	if d.set.Link.Energy == 0 {
		return in.Supplied
	}
	supply := 0.0
	if in.Supplied {
		supply = in.voltage()
	}
	d.charge(dt, in.MotorPosition, supply)
	l := &d.set.Link
	level := p.Link / float64(l.Energy)
	d.rebase(math.Sqrt(level))
	full := level >= float64(l.Under*l.Under)
	switch {
	case !d.powered:
	case !full:
		d.Trip(cia402.ErrorLinkUnder)
	case level > float64(l.Over*l.Over):
		d.Trip(cia402.ErrorLinkOver)
	case p.hot:
		d.Trip(cia402.ErrorBrakeChopper)
	case !p.mains && d.now-p.lost >= l.Dip && d.state != cia402.FaultReactionActive:
		d.react(cia402.ErrorMainsUnder, cia402.StopQuick)
	}
	return full && (in.Supplied || d.powered)
}

// charge balances the link's energy over a step, by the motor's position and the supply
// as a share of the nominal, zero without one.
func (d *Drive) charge(dt, position, supply float64) {
	p, l := &d.power, &d.set.Link
	if !p.known {
		p.known, p.turn = true, position
	}
	work := d.torque * (position - p.turn)
	p.turn = position
	taken := work
	if share := float64(l.Efficiency); share > 0 {
		if taken = work / share; work < 0 {
			taken = work * share
		}
	}
	p.Shaft += work
	p.Losses += taken - work
	p.Link = max(p.Link-taken, 0)
	d.chop(dt)
	if supply == 0 {
		return
	}
	// The rectifier lifts the link to the mains and takes nothing back.
	if level := float64(l.Energy) * supply * supply; p.Link < level {
		p.Drawn += level - p.Link
		p.Link = level
	}
}

// chop lets the resistor burn what is too much.
func (d *Drive) chop(dt float64) {
	p, l := &d.power, &d.set.Link
	p.fade.over(dt, l)
	level, on := p.Link/float64(l.Energy), float64(l.Chopper*l.Chopper)
	switch {
	case p.hot || level < float64(on*(1-chopperBand)*(1-chopperBand)):
		p.chopping = false
	case level >= on:
		p.chopping = true
	}
	if p.chopping {
		burnt := float64(p.Link * p.fade.link)
		p.Link -= burnt
		p.Resistor += burnt
		p.heat += burnt
	}
	if p.heat -= float64(p.heat * p.fade.heat); p.heat < 1e-3 {
		p.heat = 0
	}
	switch {
	case p.heat > float64(l.Heat):
		p.hot = true
	case p.heat < 0.8*float64(l.Heat):
		p.hot = false
	}
}

// warmUp is the I2t of the motor.
func (d *Drive) warmUp(dt float64) {
	p := &d.power
	share := d.torque / float64(d.set.RatedTorque)
	p.warm = max(p.warm+float64((float64(share*share)-1)*dt), 0)
	switch bears := d.bears(); {
	case p.warm >= bears && d.set.Thermal.FoldBack:
		p.folded = true
	case p.warm >= bears && d.powered:
		d.Trip(cia402.ErrorI2t)
	case p.warm < bears/2:
		p.folded = false
	}
}

// bears is the integral at which I2t acts, s.
func (d *Drive) bears() float64 {
	peak := float64(d.set.PeakTorque / d.set.RatedTorque)
	return (float64(peak*peak) - 1) * d.set.Thermal.PeakTime.Seconds()
}

// warns tells the warning before I2t acts, at four fifths. Common practice.
func (d *Drive) warns() bool {
	return d.set.Thermal.PeakTime > 0 && d.power.warm >= 0.8*d.bears()
}

// rebase takes in the voltage of the link, as a share of the nominal: the speed up
// to which it drives the peak current through the motor goes with it. Textbook: the
// back electromotive force of a motor grows with its speed.
func (d *Drive) rebase(voltage float64) {
	d.base = math.Inf(1)
	if rate := float64(d.set.BaseRate); rate > 0 {
		d.base = rate * voltage
	}
}

// underVoltage is the torque that the voltage leaves of the peak above the base
// rate, where the power stays what it is there. Common practice.
func (d *Drive) underVoltage(limit float64) float64 {
	if speed := math.Abs(d.rate); speed > d.base {
		return min(limit, float64(d.set.PeakTorque)*d.base/speed)
	}
	return limit
}

// available is the torque limit that heat and the braking resistor leave.
func (d *Drive) available(wanted, limit float64) float64 {
	p, l := &d.power, &d.set.Link
	if p.folded {
		limit = min(limit, float64(d.set.RatedTorque))
	}
	speed := math.Abs(d.rate)
	if l.Energy == 0 || speed == 0 {
		return limit
	}
	level := p.Link / float64(l.Energy)
	// A stop on the voltage limit gives back no more than the resistor burns.
	if d.slowing && d.byVoltage && wanted*d.rate < 0 && level >= float64(l.Chopper*l.Chopper) {
		burns := 2 * p.Link / l.Resistor.Seconds()
		if p.hot {
			burns = 0
		}
		limit = min(limit, burns/speed)
	}
	return limit
}
