package fault

import (
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/interlock"
)

// What people do, and what else goes wrong between devices.
type (
	// BrakeStuck keeps a brake open or set for ever.
	BrakeStuck struct {
		Motor int
		Open  bool
	}
	// SwitchesSwapped exchanges the two ends' switches of one kind.
	SwitchesSwapped struct {
		Axis   int
		Switch Switch
	}
	// MainsLost takes the supply of every drive; brakes and the interlock unit
	// keep theirs.
	MainsLost struct{}
	// SupplyDip lowers the voltage of a drive, or of every one with Motor -1, to this
	// share of the nominal; 0 is none. Length is how long it stays low; 0 is as long
	// as the fault stands.
	SupplyDip struct {
		Motor  int
		To     quantity.Ratio
		Length time.Duration
	}
	// EmergencyStopPressed opens the contacts of these channels.
	EmergencyStopPressed struct{ Channel [2]bool }
	// HatchOpened opens the contact of the hatch.
	HatchOpened struct{}
	// LadderOpened opens the contact of the ladder.
	LadderOpened struct{}
	// PinInserted opens the contact of a stow pin; it says nothing about steel.
	PinInserted struct{ Axis int }
	// StowPinIn drives a stow pin in, contact and steel; its end draws the pin out.
	StowPinIn struct{ Axis int }
	// IsolatorOpened opens an axis's local isolator.
	IsolatorOpened struct{ Axis int }
	// ModeTurned has the mode selector stand elsewhere.
	ModeTurned struct{ Mode interlock.Mode }
	// EnablingReleased keeps the enabling device out of its middle position.
	EnablingReleased struct{}
	// OverrideLeft keeps the override key turned.
	OverrideLeft struct{}
	// ResetHeld keeps the reset button down.
	ResetHeld struct{}
)

// Further effects in encoders.
type (
	// EncoderEccentric adds an error once a turn, nought at the phase.
	EncoderEccentric struct {
		Axis          int
		Amplitude, At quantity.Angle
	}
	// EncoderLate tells what was this long ago.
	EncoderLate struct {
		Axis int
		By   time.Duration
	}
	// EncoderNoise adds an error within plus and minus this, another each time.
	EncoderNoise struct {
		Axis   int
		Within quantity.Angle
	}
	// EncoderBitStuck keeps one bit of the position.
	EncoderBitStuck struct {
		Axis int
		Bit  uint8
		High bool
	}
	// EncoderHung keeps everything, the life counter too.
	EncoderHung struct{ Axis int }
	// EncoderBadData tells any position at all.
	EncoderBadData struct{ Axis int }
	// EncoderWarning sets warning bits (CiA 406 object 6505h).
	EncoderWarning struct {
		Axis int
		Bits uint16
	}
	// EncoderTorn lets the upper word of the position be this much older.
	EncoderTorn struct {
		Axis int
		By   time.Duration
	}
	// SecondHeadOffset adds a constant to what the second read head tells.
	SecondHeadOffset struct {
		Axis int
		By   quantity.Angle
	}
	// SecondHeadFrozen keeps the second head's position.
	SecondHeadFrozen struct{ Axis int }
	// SecondHeadAlarm sets the second head's alarm with good data.
	SecondHeadAlarm struct{ Axis int }
)

// Misbehaviour is something that a drive does or does not do.
type Misbehaviour int

// The misbehaviours.
const (
	FeedbackFrozen Misbehaviour = iota
	FeedbackReversed
	FeedbackDead
	TorqueReversed
	IgnoresCommand
	IgnoresStop
	STODead
	StatusStale
	WarningRaised
)

// Further effects in drives and in the interlock unit.
type (
	// DriveMisbehaves lets a drive do so.
	DriveMisbehaves struct {
		Motor int
		How   Misbehaviour
	}
	// DriveTorqueLost takes this share of a drive's torque.
	DriveTorqueLost struct {
		Motor int
		Share quantity.Ratio
	}
	// DriveOffsetWrong is this share of the torque offset too much: -1 loses it.
	DriveOffsetWrong struct {
		Motor int
		By    quantity.Ratio
	}
	// DriveTripHeld trips a drive and keeps the cause, so that no reset helps.
	DriveTripHeld struct {
		Motor int
		Code  uint16
	}
	// InputStuck lets the interlock unit report an input, by its number among the
	// unit's quantities, at one level.
	InputStuck struct {
		Input int
		At    interlock.Stuck
	}
	// RelayLate adds to the relay delay.
	RelayLate struct{ By time.Duration }
)

// Spoiling is what happens to a message on the wire.
type Spoiling int

// The spoilings, as package link has them.
const (
	Dropped Spoiling = iota
	Repeated
	Truncated
	Corrupted
	Late
	TransactionsSwapped
	TransactionRepeated
	WrongUnit
	Merged
)

// Further effects on the wire.
type (
	// Spoiled does it to messages of a device, each with this probability.
	Spoiled struct {
		Device      Device
		Direction   Direction
		How         Spoiling
		Probability quantity.Ratio
	}
	// SlowBytes lets this much pass between the bytes of a message.
	SlowBytes struct {
		Device    Device
		Direction Direction
		Every     time.Duration
	}
	// HalfOpen lets the connections that stand go dead without telling anybody.
	HalfOpen struct{ Device Device }
)
