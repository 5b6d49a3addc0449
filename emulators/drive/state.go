package drive

import "haltmark/emulators/cia402"

// command takes a controlword: it feeds the watchdog and moves the state.
func (d *Drive) command(word uint16) {
	before := d.word
	d.word = word
	d.fed, d.silent = d.now, false
	if d.Faults.IgnoreCommand {
		return
	}
	move := cia402.Next(d.state, before, word, cia402.Condition{
		CausePresent: d.causePresent(),
		MayResume:    cia402.Stays(d.set.Options.QuickStop) && d.safe.stop != safeSS1,
		Inhibited:    d.sto || !d.supplied || d.watch.partner,
	})
	if d.Faults.IgnoreStop && d.state == cia402.OperationEnabled {
		return
	}
	d.take(move)
	d.halt(d.state == cia402.OperationEnabled && word&cia402.BitHalt != 0)
}

// take carries out what a command asks for.
func (d *Drive) take(move cia402.Move) {
	o := &d.set.Options
	switch move.Taken[0] {
	case cia402.NoTransition:
		if d.closing && cia402.Commanded(d.word) == cia402.CommandEnableOperation {
			d.closing, d.slowing = false, d.halted || d.holding
		}
	case 3:
		d.state = cia402.SwitchedOn
		if move.Taken[1] == 4 {
			d.enable()
		}
	case 4:
		d.enable()
	case 5:
		d.disable(o.Disable, move.To)
	case 8:
		d.disable(o.Shutdown, move.To)
	case 9, 12:
		d.powerOff(move.To)
	case 11:
		d.quickStop()
	case 15:
		d.code = cia402.ErrorNone
		d.state = move.To
	case 16:
		d.slowing = d.holding
		d.state = move.To
	default:
		d.state = move.To
	}
}

// enable closes the loop on the speed that the motor has.
func (d *Drive) enable() {
	d.state = cia402.OperationEnabled
	d.powered = true
	d.code = cia402.ErrorNone
	d.halted, d.closing, d.slowing, d.braking, d.parked = false, false, false, false, false
	d.holding = false
	d.restart()
}

// restart lets ramps and integral begin anew from the speed that the motor has.
func (d *Drive) restart() {
	d.demand, d.torqueDemand, d.integral = d.rate, 0, 0
	d.off, d.reached = d.now, false
}

// powerOff ends all torque at once.
func (d *Drive) powerOff(to cia402.State) {
	d.state = to
	d.powered = false
	d.torque, d.integral, d.demand, d.torqueDemand = 0, 0, 0, 0
	d.slowing, d.closing, d.halted, d.limited, d.reached = false, false, false, false, false
	d.braking, d.holding = false, false
}

// disable ends operation by option 605B or 605C and ends in state to.
func (d *Drive) disable(option int16, to cia402.State) {
	if option == cia402.StopDisable {
		d.powerOff(to)
		return
	}
	d.closeTo = to
	if !d.closing {
		d.closing = true
		d.slow(option)
	}
}

// quickStop carries out transition 11 by option 605A.
func (d *Drive) quickStop() {
	option := d.set.Options.QuickStop
	if option == cia402.StopDisable {
		d.powerOff(cia402.SwitchOnDisabled)
		return
	}
	d.state = cia402.QuickStopActive
	d.closing, d.halted, d.holding = false, false, false
	d.slow(cia402.Braking(option))
}

// halt follows bit 8 in operation enabled; the drive stays enabled.
func (d *Drive) halt(asked bool) {
	if asked == d.halted {
		return
	}
	d.halted = asked
	switch {
	case d.closing || d.state != cia402.OperationEnabled:
	case asked:
		d.slow(d.set.Options.Halt)
	default:
		d.slowing = d.holding
		d.off, d.reached = d.now, false
	}
}

// Trip is a fault that the drive finds in itself: transition 13 with object 603F
// code. A drive that is already tripped keeps its first code, but a severe fault
// cuts a fault reaction short.
func (d *Drive) Trip(code uint16) {
	atOnce := cia402.Severe(code) || d.set.Options.FaultReaction == cia402.StopDisable
	switch {
	case d.state == cia402.Fault:
	case !d.powered || atOnce:
		if d.state != cia402.FaultReactionActive {
			d.code = code
		}
		d.powerOff(cia402.Fault)
	case d.state != cia402.FaultReactionActive:
		d.react(code, d.set.Options.FaultReaction)
	}
}

// react begins the ramp of a fault.
func (d *Drive) react(code uint16, option int16) {
	d.code = code
	d.state = cia402.FaultReactionActive
	d.closing, d.halted, d.holding = false, false, false
	d.slow(option)
}

// causePresent reports whether the cause of the present fault is still there.
func (d *Drive) causePresent() bool {
	switch {
	case d.Faults.HeldTrip != cia402.ErrorNone:
		return true
	case d.code == cia402.ErrorLinkUnder:
		return !d.supplied
	case d.code == d.set.STOError:
		return d.sto
	}
	return !d.plain && d.stillWrong()
}

// supply follows the main supply. The control electronics have their own, so
// that a drive without power still answers and knows that it tripped.
func (d *Drive) supply(present bool) {
	if present && !d.supplied {
		d.since = d.now
	}
	d.supplied = present
	switch {
	case d.state == cia402.NotReadyToSwitchOn:
		if present && d.now-d.since >= d.set.SelfTest {
			d.state = cia402.SwitchOnDisabled
		}
	case present:
	case d.powered:
		d.Trip(cia402.ErrorLinkUnder)
	default:
		d.fallBack()
	}
}

// safeTorqueOff follows the STO input; its delay is that of the shut-off path.
func (d *Drive) safeTorqueOff(demanded bool) {
	if demanded != d.sto {
		d.sto, d.stoSince = demanded, d.now
	}
	if !demanded || d.now-d.stoSince < d.set.STODelay {
		return
	}
	switch {
	case !d.powered:
		d.fallBack()
	case d.state == cia402.FaultReactionActive:
		d.powerOff(cia402.Fault)
	case d.set.STOEndsIn == STOFaults:
		d.code = d.set.STOError
		d.powerOff(cia402.Fault)
	default:
		d.powerOff(cia402.SwitchOnDisabled)
	}
}

// fallBack leaves the states that need the permission for torque.
func (d *Drive) fallBack() {
	if d.state == cia402.ReadyToSwitchOn || d.state == cia402.SwitchedOn {
		d.state = cia402.SwitchOnDisabled
	}
}

// listen is the communication watchdog: what happens is up to object 6007.
func (d *Drive) listen() {
	if d.set.Watchdog == 0 || d.now-d.fed < d.set.Watchdog || d.silent ||
		d.Faults.WatchdogDead {
		return
	}
	d.silent = true
	switch d.set.Options.Abort {
	case cia402.AbortFault:
		d.Trip(cia402.ErrorConnection)
	case cia402.AbortDisableVoltage:
		d.code = cia402.ErrorConnection
		d.powerOff(cia402.SwitchOnDisabled)
	case cia402.AbortQuickStop:
		d.code = cia402.ErrorConnection
		d.quickStop()
	}
}
