package cia402

// How a drive brings its motor to rest. The option codes 605A to 605E share
// these numbers; each object allows its own part of them.
const (
	StopDisable      int16 = 0 // power off at once, the motor coasts
	StopSlowDown     int16 = 1 // on the deceleration ramp, object 6084
	StopQuick        int16 = 2 // on the quick stop ramp, object 6085
	StopCurrentLimit int16 = 3 // as hard as the current limit allows
	StopVoltageLimit int16 = 4 // as hard as the voltage limit allows
	// StopStay added to 1 to 4 in object 605A leaves the drive in quick stop
	// active, from where it may be enabled again.
	StopStay int16 = 4
)

// What a drive does when its connection is lost, object 6007.
const (
	AbortNone           int16 = 0 // nothing: the axis keeps its last speed
	AbortFault          int16 = 1
	AbortDisableVoltage int16 = 2
	AbortQuickStop      int16 = 3
)

// Modes of operation, objects 6060 and 6061, as far as the drives here know them.
const (
	ModeNone            int8 = 0
	ModeProfileVelocity int8 = 3
	ModeProfileTorque   int8 = 4
	ModeCyclicVelocity  int8 = 9  // the controller makes the ramps
	ModeCyclicTorque    int8 = 10 // the controller makes the torque
)

// The bits of object 6502, supported modes: CiA 402, secondary.
const (
	SupportsProfileVelocity uint32 = 0x4
	SupportsProfileTorque   uint32 = 0x8
	SupportsCyclicVelocity  uint32 = 0x100
	SupportsCyclicTorque    uint32 = 0x200
)

// SupportedModes is object 6502 of a drive with the two profile modes.
const SupportedModes = SupportsProfileVelocity | SupportsProfileTorque

// KnownModes is object 6502 of a drive with every mode above.
const KnownModes = SupportedModes | SupportsCyclicVelocity | SupportsCyclicTorque

// Supports reports whether object 6502 names a mode: bit n-1 stands for mode n.
func Supports(supported uint32, mode int8) bool {
	return mode > 0 && mode <= 32 && supported>>(mode-1)&1 == 1
}

// TorqueMode tells the modes in which torque is commanded, not speed.
func TorqueMode(mode int8) bool { return mode == ModeProfileTorque || mode == ModeCyclicTorque }

// CyclicMode tells the modes in which every set point acts as it comes.
func CyclicMode(mode int8) bool { return mode == ModeCyclicVelocity || mode == ModeCyclicTorque }

// Options are the option codes of one drive.
type Options struct {
	QuickStop     int16 // 605A: 0 to 8
	Shutdown      int16 // 605B: 0 or 1
	Disable       int16 // 605C: 0 or 1
	Halt          int16 // 605D: 1 to 4
	FaultReaction int16 // 605E: 0 to 4
	Abort         int16 // 6007: 0 to 3
}

// DefaultOptions are the defaults of the profile, secondary. That of 6007 is from
// memory.
func DefaultOptions() Options {
	return Options{
		QuickStop: StopQuick, Shutdown: StopDisable, Disable: StopSlowDown,
		Halt: StopSlowDown, FaultReaction: StopQuick, Abort: AbortFault,
	}
}

// Legal reports whether every code is one that its object allows. Manufacturer's
// own codes, below zero, are not known here.
func (o Options) Legal() bool {
	return between(o.QuickStop, 0, 8) && between(o.Shutdown, 0, 1) &&
		between(o.Disable, 0, 1) && between(o.Halt, 1, 4) &&
		between(o.FaultReaction, 0, 4) && between(o.Abort, 0, 3)
}

// Stays reports whether a quick stop option ends in quick stop active.
func Stays(quickStop int16) bool { return quickStop > StopStay }

// Braking strips StopStay from a quick stop option.
func Braking(quickStop int16) int16 {
	if Stays(quickStop) {
		return quickStop - StopStay
	}
	return quickStop
}

func between(v, lowest, highest int16) bool { return v >= lowest && v <= highest }
