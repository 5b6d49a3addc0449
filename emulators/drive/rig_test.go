package drive

import (
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// h is the plant step of the stations.
const h = 250 * time.Microsecond

// deviceFace is the face that a register map binds to, as registers has it.
type deviceFace interface {
	Quantities() []string
	Load(id int) float64
	Store(id int, value float64) error
}

var _ deviceFace = (*Drive)(nil)

const deg = float64(quantity.DegreePerSecond)

// demo is an azimuth drive of fixtures/stations/demo.yaml: 42 and 84 kN m,
// half of the axis (95 + 2 x 30 t m^2), speed loop 8 Hz, standstill below
// 0.05 deg/s for 200 ms, watchdog 200 ms, STO 20 ms.
func demo() Parameters {
	return Parameters{
		RatedTorque: 42 * quantity.KilonewtonMetre, PeakTorque: 84 * quantity.KilonewtonMetre,
		Inertia: 77.5 * quantity.TonneSquareMetre, SpeedLoop: 8,
		Acceleration:          1.5 * quantity.DegreePerSecondSquared,
		Deceleration:          2.2 * quantity.DegreePerSecondSquared,
		QuickStopDeceleration: 4 * quantity.DegreePerSecondSquared,
		Options:               cia402.DefaultOptions(),
		Watchdog:              200 * time.Millisecond, STODelay: 20 * time.Millisecond,
		VelocityOff:    0.05 * quantity.DegreePerSecond,
		StandstillRate: 0.05 * quantity.DegreePerSecond,
		StandstillTime: 200 * time.Millisecond,
	}
}

// rig is a drive on a rigid inertia, or on an ideal axis that has the speed
// which the drive demands. A controller stores word every feed steps.
type rig struct {
	t       *testing.T
	d       *Drive
	now     time.Duration
	in      Input
	ideal   bool
	inertia float64
	load    float64 // N m on the shaft beside the drive's
	word    uint16
	deaf    bool // the controller is silent
	n       int
}

func newRig(t *testing.T, p Parameters) *rig {
	r := &rig{t: t, d: New(p), inertia: float64(p.Inertia), in: Input{Supplied: true}}
	r.step()
	return r
}

func (r *rig) store(id int, value float64) {
	r.t.Helper()
	if err := r.d.Store(id, value); err != nil {
		r.t.Fatalf("Store(%d, %g): %v", id, value, err)
	}
}

// send stores a controlword, and keeps storing it each 20 ms from then on.
func (r *rig) send(word uint16) {
	r.t.Helper()
	r.word = word
	r.store(Controlword, float64(word))
}

func (r *rig) step() {
	if r.n%80 == 0 && !r.deaf && r.n > 0 {
		r.store(Controlword, float64(r.word))
	}
	r.n++
	before := r.in.MotorRate
	r.d.Step(r.now, r.in)
	if r.ideal {
		r.in.MotorRate = r.d.Load(VelocityDemand)
	} else {
		r.in.MotorRate += (r.d.Torque() + r.load) / r.inertia * h.Seconds()
	}
	r.in.MotorPosition += (before + r.in.MotorRate) / 2 * h.Seconds()
	r.now += h
}

func (r *rig) run(span time.Duration) {
	for end := r.now + span; r.now < end; {
		r.step()
	}
}

// until steps until done, and fails the test after a minute of it.
func (r *rig) until(what string, done func() bool) time.Duration {
	r.t.Helper()
	began := r.now
	for !done() {
		if r.now-began > time.Minute {
			r.t.Fatalf("never: %s; drive is in %v", what, r.d)
		}
		r.step()
	}
	return r.now - began
}

func (r *rig) enable() {
	r.t.Helper()
	r.send(cia402.CommandShutdown)
	r.send(cia402.CommandEnableOperation)
	r.expect(cia402.OperationEnabled)
}

// turn enables the drive and brings it to a steady speed.
func (r *rig) turn(rate float64) {
	r.t.Helper()
	r.enable()
	r.store(TargetVelocity, rate)
	r.until("steady", func() bool { return r.d.Load(VelocityDemand) == rate })
	r.run(200 * time.Millisecond)
}

// expect checks the state and that the wire tells the same.
func (r *rig) expect(want cia402.State) {
	r.t.Helper()
	wire, ok := cia402.Decode(uint16(r.d.Load(Statusword)))
	if r.d.State() != want || !ok || wire != want {
		r.t.Fatalf("drive is in %v and says %v (%v), want %v", r.d, wire, ok, want)
	}
}

func (r *rig) flag(f cia402.Flags) bool {
	return uint16(r.d.Load(Statusword))&uint16(f) != 0
}

// inState brings a fresh drive into a state.
func inState(t *testing.T, want cia402.State) *rig {
	t.Helper()
	p := demo()
	p.Options.QuickStop = 6 // stays in quick stop active
	r := newRig(t, p)
	r.ideal = true
	switch want {
	case cia402.NotReadyToSwitchOn:
		p.SelfTest = time.Minute
		r = newRig(t, p)
	case cia402.SwitchOnDisabled:
	case cia402.ReadyToSwitchOn:
		r.send(0x06)
	case cia402.SwitchedOn:
		r.send(0x06)
		r.send(0x07)
	case cia402.OperationEnabled:
		r.enable()
	case cia402.QuickStopActive:
		r.enable()
		r.send(0x02)
	case cia402.FaultReactionActive:
		r.turn(2 * deg)
		r.d.Trip(cia402.ErrorDriveHot)
	case cia402.Fault:
		r.d.Trip(cia402.ErrorDriveHot)
	}
	r.expect(want)
	r.word = 0
	r.deaf = true
	return r
}
