package fault

import (
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/interlock"
)

// Effect is one of the plain structs of this file. Axis, motor, end and channel
// are indices: axes azimuth, elevation, polarization H and V; motors in axis
// order; ends lower and upper; channels 0 and 1.
type Effect any

// Switch is one of the two limit switches at an end.
type Switch int

// The limit switches, inward to outward.
const (
	PreLimit Switch = iota
	FinalLimit
)

// Effects in physics.
type (
	// LimitSwitch breaks one limit switch.
	LimitSwitch struct {
		Axis, End int
		Switch    Switch
		How       interlock.SwitchFault
	}
	// LimitChainShift moves switches, buffer and structure of one end inward,
	// so that the controller's software limit stands too far out.
	LimitChainShift struct {
		Axis, End int
		Inward    quantity.Angle
	}
	// BrakeLate adds to a brake's engage delay.
	BrakeLate struct {
		Motor int
		By    time.Duration
	}
	// BrakeWorn leaves this share of a brake's torque.
	BrakeWorn struct {
		Motor  int
		Torque quantity.Ratio
	}
	// BrakeDragging keeps this share of a brake's torque on while released.
	BrakeDragging struct {
		Motor  int
		Torque quantity.Ratio
	}
	// ExternalTorque adds a constant torque to an axis, positive toward upper.
	ExternalTorque struct {
		Axis   int
		Torque quantity.Torque
	}
	// GearChanged makes the motors turn this many times as far as the
	// controller thinks they do.
	GearChanged struct {
		Axis  int
		Ratio quantity.Ratio
	}
	// DirectionChanged makes a motor turn the other way, torque and feedback.
	DirectionChanged struct{ Motor int }
	// SupplyLost takes the supply of the whole station.
	SupplyLost struct{}
	// DriveSupplyLost takes the supply of one drive.
	DriveSupplyLost struct{ Motor int }
)

// Effects in devices.
type (
	// EncoderOffset adds a constant to the position told.
	EncoderOffset struct {
		Axis int
		By   quantity.Angle
	}
	// EncoderFrozen keeps telling the position at which it began.
	EncoderFrozen struct{ Axis int }
	// EncoderStepping adds By at its start and again after every further Every;
	// an Every of 0 is one step.
	EncoderStepping struct {
		Axis  int
		By    quantity.Angle
		Every time.Duration
	}
	// EncoderDrift adds an offset that grows at this rate from its start.
	EncoderDrift struct {
		Axis int
		Rate quantity.Rate
	}
	// EncoderAlarm sets alarm bits (CiA 406 object 6503h) with good data.
	EncoderAlarm struct {
		Axis int
		Bits uint16
	}
	// EncoderReversed counts the other way.
	EncoderReversed struct{ Axis int }
	// DriveTrip makes a drive fault once, with this error code (CiA 402 603Fh).
	DriveTrip struct {
		Motor int
		Code  uint16
	}
	// DriveWatchdogIgnored leaves a drive running when its controller is silent.
	DriveWatchdogIgnored struct{ Motor int }
	// DriveRunaway makes a drive with power on pull with this share of its peak
	// torque whatever it is told; positive is toward upper.
	DriveRunaway struct {
		Motor  int
		Torque quantity.Ratio
	}
	// EmergencyStopWelded keeps one channel's contact closed.
	EmergencyStopWelded struct{ Channel int }
	// BrakeFeedbackStuck tells one state of a brake for ever.
	BrakeFeedbackStuck struct {
		Motor int
		At    interlock.Stuck
	}
)

// Direction of traffic on a wire.
type Direction int

// Directions of traffic.
const (
	BothWays Direction = iota
	ToDevice
	ToController
)

// Includes tells whether traffic to the device or to the controller is meant.
func (d Direction) Includes(one Direction) bool { return d == BothWays || d == one }

// Effects on the wire.
type (
	// Silence loses every message of a device.
	Silence struct {
		Device    Device
		Direction Direction
	}
	// Delay holds every message up, by By and a random share of Jitter.
	Delay struct {
		Device     Device
		Direction  Direction
		By, Jitter time.Duration
	}
	// Refuse turns new connections away.
	Refuse struct{ Device Device }
	// Reset breaks all connections once.
	Reset struct{ Device Device }
	// PulledCable loses everything and connects nothing.
	PulledCable struct{ Device Device }
)
