package drive

import (
	"fmt"
	"math"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// Input is what reaches a drive by wire and shaft: rad/s and rad at the axis on
// the motor's side of the gear, STO demanded, and supply present.
type Input struct {
	MotorRate, MotorPosition float64
	STO, Supplied            bool

	// Supply is the voltage as a share of the nominal; 0 means 1. It bounds the speed
	// up to which there is peak torque, fills the link no further, and lets the drive
	// trip below the link's own bound; torque below the base rate is the current's
	// matter and stays.
	Supply     quantity.Ratio
	Safe       SafeRequest // the safe functions that are selected
	PartnerOff bool        // the healthy contact of the axis's other drive is open
}

// voltage is the supply's as a share of the nominal.
func (in *Input) voltage() float64 {
	if in.Supply > 0 {
		return float64(in.Supply)
	}
	return 1
}

// Drive is one drive. Its zero value is not usable; New makes one.
type Drive struct {
	// Faults may be changed between steps.
	Faults Faults

	set  Parameters
	rate float64 // as measured
	turn float64 // position as measured

	// The power stage and what it makes.
	powered  bool
	idle     bool    // it was off when the last step began
	torque   float64 // N m, as put on the shaft
	gain     float64 // N m s/rad
	resetS   float64 // integral time, s
	integral float64 // N m
	limited  bool    // torque or velocity was cut

	// The ramps.
	demand       float64 // rad/s
	settled      band    // of a drive in the steady regime
	torqueDemand float64 // N m
	slowing      bool    // a stop is being carried out
	slowBy       float64 // on this ramp, rad/s^2
	closing      bool    // disabling by ramp: then to closeTo
	closeTo      cia402.State
	braking      bool // the stop is over, the brake closes under torque
	brakingSince time.Duration
	parked       bool // a stop of its own has ended; the brake waits for torque
	halted       bool
	holding      bool    // SS2 or SOS keeps the demand at zero
	byVoltage    bool    // a stop that spares the link
	slope        float64 // rad/s^2, to the set point of a cyclic velocity

	mains float64 // voltage of the supply at the last step
	base  float64 // rad/s, up to which the voltage lets there be peak torque

	// What a plain drive has none of; an unwatched one may have a link and safe functions.
	plain     bool
	unwatched bool
	watch     watches
	power     power
	safe      safety

	// The state machine.
	now       time.Duration
	started   bool
	since     time.Duration // supply on
	state     cia402.State
	word      uint16
	fed       time.Duration
	silent    bool // the watchdog has acted
	code      uint16
	sto       bool
	stoSince  time.Duration
	supplied  bool
	fast      time.Duration // last instant not at standstill
	still     bool
	off       time.Duration // last instant outside the velocity window
	reached   bool
	wasStale  bool
	staleLoad [quantityCount]float64

	// What the controller set.
	mode           int8
	largest        float64 // rad/s, of 607F and 6080; 0 is none
	outputs, mask  uint32  // 60FE
	targetVelocity float64 // rad/s
	targetTorque   float64 // N m
	offset         float64 // N m
	maxTorque      float64 // N m
}

// New makes a drive without supply. It panics on parameters that Check refuses.
func New(p Parameters) *Drive {
	if err := p.Check(); err != nil {
		panic(err)
	}
	if p.STOError == cia402.ErrorNone {
		p.STOError = cia402.ErrorManufacturer
	}
	d := &Drive{
		set:       p,
		gain:      2 * math.Pi * float64(p.SpeedLoop) * float64(p.Inertia),
		mode:      cia402.ModeProfileVelocity,
		maxTorque: float64(p.PeakTorque),
	}
	d.refit()
	return d
}

// refit takes in what follows from the parameters.
func (d *Drive) refit() {
	d.plain = d.set.plain()
	bare := d.set
	bare.Link, bare.Safety = Link{}, Safety{}
	d.unwatched = bare.plain()
	d.resetS = d.set.IntegralTime.Seconds()
	d.largest = float64(d.set.MaxVelocity)
	if speed := float64(d.set.MaxMotorSpeed); speed > 0 && (d.largest == 0 || speed < d.largest) {
		d.largest = speed
	}
}

// Step carries the drive to now. The torque it then has acts until the next step.
func (d *Drive) Step(now time.Duration, in Input) {
	dt := 0.0
	if d.started {
		dt = float64(now-d.now) * 1e-9
	} else {
		d.started = true
		d.since, d.stoSince, d.fast, d.off = now, now, now, now
	}
	d.now, d.idle = now, !d.powered
	d.measure(in)
	if v := in.voltage(); v != d.mains {
		d.mains = v
		d.rebase(v)
	}
	stop, supplied := in.STO, in.Supplied
	if !d.plain {
		supplied = d.feed(dt, &in)
		d.guard(dt, &in)
		stop = d.safeFunctions(in.Safe) || stop
	}
	d.supply(supplied)
	d.safeTorqueOff(stop && !d.Faults.STODead)
	if d.Faults.HeldTrip != cia402.ErrorNone {
		d.Trip(d.Faults.HeldTrip)
	}
	if !d.powered {
		d.torque = 0
		return
	}
	if d.state == cia402.OperationEnabled {
		d.listen()
	}
	if d.slowing {
		d.endStop()
	}
	if d.powered {
		d.move(dt)
	}
}

// measure takes in what the motor feedback says.
func (d *Drive) measure(in Input) {
	f := &d.Faults
	if f.Stale != d.wasStale {
		d.keepStale(f.Stale)
	}
	d.rate, d.turn = f.Feedback.tell(in.MotorRate, in.MotorPosition, d.rate, d.turn)
	d.stand()
}

// stand finds out whether the motor is at standstill, objects 606F and 6070.
func (d *Drive) stand() {
	if math.Abs(d.rate) < float64(d.set.StandstillRate) {
		d.still = d.now-d.fast >= d.set.StandstillTime
	} else {
		d.fast, d.still = d.now, false
	}
}

// Torque is the torque on the shaft, N m at the axis.
func (d *Drive) Torque() float64 { return d.torque }

// State is the state as it is, whatever the wire says.
func (d *Drive) State() cia402.State { return d.state }

// ErrorCode is object 603F, the code of the last fault or 0.
func (d *Drive) ErrorCode() uint16 { return d.code }

// PowerOn reports whether the power stage makes torque.
func (d *Drive) PowerOn() bool { return d.powered }

// Ready is the contact that a drive closes into the brake circuit: supplied, STO
// released, started, and not in fault. A drive that is braking on its fault
// reaction is still ready, until it lets its brake close at the end of it; a brake
// that it minds then stays closed until the drive is enabled again.
func (d *Drive) Ready() bool {
	return d.supplied && !d.sto && !d.braking && !d.parked && !d.brakeAsked() &&
		d.state != cia402.Fault && d.state != cia402.NotReadyToSwitchOn
}

// brakeAsked tells that safe brake control or bit 0 of object 60FE closes the
// brake, whatever else is so.
func (d *Drive) brakeAsked() bool {
	return d.outputs&d.mask&1 != 0 || d.safe.asked&RequestSBC != 0
}

// SBC is safe brake control: true demands the brake closed. It comes with the
// STO input, before torque has gone, as the brake takes its own time to bite.
func (d *Drive) SBC() bool { return d.sto || !d.supplied || d.brakeAsked() }

// STO reports whether safe torque off is demanded, as the drive sees it.
func (d *Drive) STO() bool { return d.sto }

// String names state and error for a person.
func (d *Drive) String() string {
	if d.code == cia402.ErrorNone {
		return d.state.String()
	}
	return fmt.Sprintf("%v (error %04X)", d.state, d.code)
}
