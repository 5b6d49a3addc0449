package cia402

// Transition is the number of a transition of the state machine, 0 to 16.
type Transition int8

// NoTransition is what a command takes that the state does not allow.
const NoTransition Transition = -1

// LastTransition is the highest number.
const LastTransition Transition = 16

// ends are the states a transition joins. Transition 13 leaves any state.
type ends struct{ from, to State }

// transitions is indexed by the number: CiA 402, secondary.
var transitions = [LastTransition + 1]ends{
	0:  {NotReadyToSwitchOn, NotReadyToSwitchOn},
	1:  {NotReadyToSwitchOn, SwitchOnDisabled},
	2:  {SwitchOnDisabled, ReadyToSwitchOn},
	3:  {ReadyToSwitchOn, SwitchedOn},
	4:  {SwitchedOn, OperationEnabled},
	5:  {OperationEnabled, SwitchedOn},
	6:  {SwitchedOn, ReadyToSwitchOn},
	7:  {ReadyToSwitchOn, SwitchOnDisabled},
	8:  {OperationEnabled, ReadyToSwitchOn},
	9:  {OperationEnabled, SwitchOnDisabled},
	10: {SwitchedOn, SwitchOnDisabled},
	11: {OperationEnabled, QuickStopActive},
	12: {QuickStopActive, SwitchOnDisabled},
	13: {NotReadyToSwitchOn, FaultReactionActive},
	14: {FaultReactionActive, Fault},
	15: {Fault, SwitchOnDisabled},
	16: {QuickStopActive, OperationEnabled},
}

// To is the state a transition ends in.
func (t Transition) To() State { return transitions[t].to }

// Condition is what a command meets beside the state.
type Condition struct {
	CausePresent bool // the cause of a fault has not gone, 15 is refused
	MayResume    bool // quick stop options 5 to 8: 16 is allowed
	Inhibited    bool // no supply or no permission for torque: 2 is refused
}

// Move is what one controlword does: at most two transitions, taken at once.
type Move struct {
	To    State
	Taken [2]Transition
}

// Next tells what the controlword word does in state from, after the controlword
// before. Transitions that a drive takes by itself (0, 1, 13, 14, and 12 at the
// end of a ramp) are not commanded and not in it.
func Next(from State, before, word uint16, c Condition) Move {
	t := Legal(from, Commanded(word))
	refused := t == 2 && c.Inhibited ||
		t == 15 && (c.CausePresent || !ResetEdge(before, word)) ||
		t == 16 && !c.MayResume
	if t == NoTransition || refused {
		return Move{from, [2]Transition{NoTransition, NoTransition}}
	}
	if from == ReadyToSwitchOn && Commanded(word) == CommandEnableOperation {
		return Move{OperationEnabled, [2]Transition{3, 4}}
	}
	return Move{t.To(), [2]Transition{t, NoTransition}}
}

// Legal tells the transition that a command, given as its usual word, asks for
// in a state, whatever the conditions; NoTransition where the table has none.
// Enable operation in ready to switch on asks for 3, and Next takes 4 with it.
func Legal(from State, command uint16) Transition {
	switch from {
	case SwitchOnDisabled:
		return either(command == CommandShutdown, 2)
	case ReadyToSwitchOn:
		switch command {
		case CommandSwitchOn, CommandEnableOperation:
			return 3
		case CommandDisableVoltage, CommandQuickStop:
			return 7
		}
	case SwitchedOn:
		switch command {
		case CommandEnableOperation:
			return 4
		case CommandShutdown:
			return 6
		case CommandDisableVoltage, CommandQuickStop:
			return 10
		}
	case OperationEnabled:
		switch command {
		case CommandDisableOperation:
			return 5
		case CommandShutdown:
			return 8
		case CommandDisableVoltage:
			return 9
		case CommandQuickStop:
			return 11
		}
	case QuickStopActive:
		switch command {
		case CommandDisableVoltage:
			return 12
		case CommandEnableOperation:
			return 16
		}
	case Fault:
		return either(command == CommandFaultReset, 15)
	}
	return NoTransition
}

func either(ok bool, t Transition) Transition {
	if ok {
		return t
	}
	return NoTransition
}
