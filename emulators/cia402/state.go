package cia402

// State is one state of the drive's state machine. The numbers are this
// package's own, in the order in which a drive comes up; no standard gives them.
type State uint8

// The eight states.
const (
	NotReadyToSwitchOn State = iota
	SwitchOnDisabled
	ReadyToSwitchOn
	SwitchedOn
	OperationEnabled
	QuickStopActive
	FaultReactionActive
	Fault
	StateCount int = iota
)

// Flags are the bits of a statusword that do not tell the state.
type Flags uint16

// The flags of the statusword, object 6041.
const (
	VoltageEnabled Flags = 1 << 4
	Warning        Flags = 1 << 7
	Manufacturer   Flags = 1 << 8
	Remote         Flags = 1 << 9
	TargetReached  Flags = 1 << 10
	InternalLimit  Flags = 1 << 11
	// SpeedZero is bit 12 in profile velocity mode; other modes use it otherwise.
	SpeedZero Flags = 1 << 12
	// FollowsCommand is the same bit in cyclic modes: the set point is obeyed.
	FollowsCommand = SpeedZero
	// FollowingError is bit 13 where a following error is watched.
	FollowingError Flags = 1 << 13

	flagMask = ^Flags(stateMask)
)

// stateMask covers every bit that tells a state: 0 to 3, 5 and 6.
const stateMask = 0x006F

// pattern is how a statusword tells one state.
type pattern struct{ mask, value uint16 }

// patterns is indexed by State: CiA 402, secondary (a sample header that gives 0x0020
// for switch on disabled is wrong).
var patterns = [StateCount]pattern{
	NotReadyToSwitchOn:  {0x4F, 0x00},
	SwitchOnDisabled:    {0x4F, 0x40},
	ReadyToSwitchOn:     {0x6F, 0x21},
	SwitchedOn:          {0x6F, 0x23},
	OperationEnabled:    {0x6F, 0x27},
	QuickStopActive:     {0x6F, 0x07},
	FaultReactionActive: {0x4F, 0x0F},
	Fault:               {0x4F, 0x08},
}

// Decode tells the state in a statusword, and false for a word that tells none.
// A controller takes such a word for a fault, never for the state before it.
func Decode(word uint16) (State, bool) {
	for s, p := range patterns {
		if word&p.mask == p.value {
			return State(s), true
		}
	}
	return NotReadyToSwitchOn, false
}

// Statusword composes the word of a state. Flags that would touch the bits of
// the state are ignored. Bit 5, quick stop, is low wherever the state leaves it
// open.
func Statusword(s State, f Flags) uint16 {
	return patterns[s].value | uint16(f&flagMask)
}

// String is the state in the words of the standard.
func (s State) String() string {
	switch s {
	case NotReadyToSwitchOn:
		return "not ready to switch on"
	case SwitchOnDisabled:
		return "switch on disabled"
	case ReadyToSwitchOn:
		return "ready to switch on"
	case SwitchedOn:
		return "switched on"
	case OperationEnabled:
		return "operation enabled"
	case QuickStopActive:
		return "quick stop active"
	case FaultReactionActive:
		return "fault reaction active"
	case Fault:
		return "fault"
	}
	return "no state"
}
