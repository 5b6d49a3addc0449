package interlock

import (
	"math"
	"time"

	"haltmark/bench/plant"
)

// Unit is one interlock unit. The exported outputs stand as of the last Step;
// Panel and Faults may be changed between steps.
type Unit struct {
	Panel  Panel
	Faults Faults

	// PreLimit and FinalLimit are the contacts as wired, after switch faults;
	// true is open. The station's enable chain reads the final limits here.
	PreLimit, FinalLimit [plant.MainAxes][plant.EndCount]bool
	// Channel tells which of the relay's two channels is closed (healthy).
	Channel [2]bool
	// InstantContact and DelayedContact of the relay; true is closed. The open
	// delayed contact is what takes every axis' torque.
	InstantContact, DelayedContact bool
	// Discrepancy is latched: the channels differed for too long.
	Discrepancy bool
	// WatchdogTripped is latched until the relay is reset: the controller was
	// heard once and then fell silent.
	WatchdogTripped bool
	// ResetRefused tells that the last press of the reset button did nothing
	// while the relay was open.
	ResetRefused bool
	// Enable, BrakeRelease and Horn are the outputs, fed by the delayed contact.
	Enable       [plant.AxisCount]bool
	BrakeRelease [plant.MotorCount]bool
	Horn         bool
	// Overridden final limits: the key, a local mode and a held hand control.
	Overridden [plant.MainAxes][plant.EndCount]bool

	set           Parameters
	panelInputs   Panel // with what faults make of it
	faulted       Panel // scratch of panel
	was           seen  // what the contacts were computed from
	settled       bool  // and nothing in them is on its way
	brakeFeedback [plant.MotorCount]bool
	command       outputs
	heartbeat     float64
	fed, heard    bool // since the last step; since the supply came
	lastFed       time.Duration

	hatch, ladder, pin, mode cause
	lastMode                 Mode // modeUnknown before the first step
	resetWas                 bool

	tripped   bool
	trippedAt time.Duration
	pair      pair
}

// seen is all that contacts, override and causes depend on.
type seen struct {
	in     Input
	panel  Panel
	faults Faults
	heard  bool
}

type outputs struct {
	enable       [plant.AxisCount]bool
	brakeRelease [plant.MotorCount]bool
	horn         bool
}

// New makes a unit as its supply has just come: relay open, nothing heard of
// the controller, outputs off. It wants a controller that writes, closed
// channels and a press of the reset button.
func New(p Parameters) (*Unit, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	u := &Unit{set: p}
	u.powerUp()
	return u, nil
}

// powerUp is the state in which the unit comes back from a lost supply. What
// people hold and what is broken stays.
func (u *Unit) powerUp() {
	*u = Unit{Panel: u.Panel, Faults: u.Faults, set: u.set, lastMode: modeUnknown,
		resetWas: u.Panel.Reset || u.Faults.Panel.Reset, tripped: true}
}

// Step brings the unit to now, which grows by one plant step from call to call.
func (u *Unit) Step(now time.Duration, in *Input) {
	if in.SupplyLost {
		u.powerUp()
		u.panelInputs = u.Faults.Panel.on(u.Panel)
		u.contacts(in)
		return
	}
	u.listen(now)
	if !u.same(in) {
		u.panelInputs = u.Faults.Panel.on(u.Panel)
		u.contacts(in)
		u.channels(in)
	}
	u.pair.step(u.Channel, now, u.set.Discrepancy)
	u.Discrepancy = u.pair.flagged
	u.relay(now)
	u.drive()
}

// Due is the first instant at which a step changes anything in the unit, as long as nobody
// touches Input, Panel, Faults or an output. It is 0 where the next step may do so.
func (u *Unit) Due() time.Duration {
	if !u.settled || u.fed || u.was.in.SupplyLost {
		return 0
	}
	until := never
	if u.heard {
		until = u.lastFed + u.set.Watchdog
	}
	if u.pair.apart && !u.pair.flagged {
		until = min(until, u.pair.since+u.set.Discrepancy)
	}
	if u.tripped && (u.InstantContact || u.DelayedContact) {
		opens := u.trippedAt + u.set.RelayDelay + u.Faults.RelayLate
		if !u.InstantContact {
			opens += u.set.SS1Time
		}
		until = min(until, opens)
	}
	return until
}

// never is later than every instant.
const never = time.Duration(math.MaxInt64)

// same tells that nothing has changed since contacts and channels were computed,
// which is nearly always so; computing them again would give the same.
func (u *Unit) same(in *Input) bool {
	w := &u.was
	if w.heard == u.heard && w.in == *in && w.panel == u.Panel && w.faults == u.Faults {
		// A cause may need one more step than the change that raised it.
		was := u.settled
		u.settled = true
		return was
	}
	*w, u.settled = seen{*in, u.Panel, u.Faults, u.heard}, false
	return false
}

// contacts takes in the switches with what is wrong with them.
func (u *Unit) contacts(in *Input) {
	u.brakeFeedback = in.BrakeFeedback
	f := &u.Faults
	for axis := range plant.MainAxes {
		for end := range plant.EndCount {
			pre, final := end, end
			if f.PreLimitSwapped[axis] {
				pre = 1 - end
			}
			if f.FinalLimitSwapped[axis] {
				final = 1 - end
			}
			u.PreLimit[axis][end] = f.PreLimit[axis][end].Contact(in.PreLimit[axis][pre])
			u.FinalLimit[axis][end] = f.FinalLimit[axis][end].Contact(in.FinalLimit[axis][final])
		}
	}
	u.override()
}

// override computes which final limits the key bypasses: on the axis of the
// held hand control, and there one switch. Two open ends of one axis are a fault
// that no key bypasses.
func (u *Unit) override() {
	u.Overridden = [plant.MainAxes][plant.EndCount]bool{}
	axis := u.panelInputs.HandAxis
	turned := u.panelInputs.Override && u.panelInputs.Mode != Remote && u.handHeld()
	if !turned || axis < 0 || axis >= plant.MainAxes {
		return
	}
	open := u.FinalLimit[axis]
	if open[plant.Lower] != open[plant.Upper] {
		u.Overridden[axis] = open
	}
}

func (u *Unit) handHeld() bool {
	return u.panelInputs.HandDirection != 0 && (u.panelInputs.Enabling || !u.set.EnablingDevice)
}

// listen runs the watchdog on the controller.
func (u *Unit) listen(now time.Duration) {
	if u.fed {
		u.fed, u.heard, u.lastFed = false, true, now
		return
	}
	if u.heard && now-u.lastFed >= u.set.Watchdog {
		u.heard, u.WatchdogTripped = false, true
	}
}

// drive lets the delayed contact feed the outputs.
func (u *Unit) drive() {
	if !u.DelayedContact {
		u.Enable, u.BrakeRelease, u.Horn = [plant.AxisCount]bool{}, [plant.MotorCount]bool{}, false
		return
	}
	u.Enable, u.BrakeRelease, u.Horn = u.command.enable, u.command.brakeRelease, u.command.horn
}
