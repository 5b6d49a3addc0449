package drive

import "haltmark/bench/quantity"

// Faults are the ways in which a drive misbehaves, as plain fields that may
// change between steps. All zero is a healthy drive.
type Faults struct {
	HeldTrip uint16 // 603F of a trip whose cause stays; a reset is refused meanwhile

	Feedback Feedback // of its motor; a servo unit has one of each

	Runaway        quantity.Ratio // torque as a share of peak, -1 to 1, while powered
	TorqueLoss     quantity.Ratio // share of the torque that is missing, 0 to 1
	ReversedTorque bool
	// OffsetError is what the torque offset is wrong by, as a share of it: -1
	// loses it, 1 doubles it.
	OffsetError quantity.Ratio

	IgnoreCommand bool // keeps doing what it does, whatever it is told
	IgnoreStop    bool // hears no stop, halt or disabling; STO and watchdog act
	STODead       bool // the safe torque off input does nothing
	WatchdogDead  bool // silence of the controller goes unnoticed
	// Stale answers everything it reports about itself as it was when the fault
	// began, and looks alive.
	Stale bool
	// Warning raises bit 7 of the statusword.
	Warning bool
}

// Feedback is how that of one motor lies.
type Feedback struct {
	Frozen   bool // speed and position keep their last values
	Reversed bool // both have the wrong sign
	Dead     bool // speed reads zero, unnoticed
}

// tell is a motor's speed and angle as the feedback has them, which told others before.
func (f *Feedback) tell(rate, turn, toldRate, toldTurn float64) (newRate, newTurn float64) {
	if f.Frozen {
		return toldRate, toldTurn
	}
	if f.Reversed {
		rate, turn = -rate, -turn
	}
	if f.Dead {
		rate = 0
	}
	return rate, turn
}
