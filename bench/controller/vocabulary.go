package controller

import "fmt"

// State is a controller's state as the bench names it.
type State int

// The states.
const (
	StateUnknown State = -1 // never heard, silent, or a number the profile lacks
	Resting      State = iota - 1
	Armed
	Moving
	Following
	Holding
	Stowing
	Stopped
)

var stateNames = [...]string{"resting", "armed", "moving", "following", "holding", "stowing",
	"stopped"}

// String is the name of the state.
func (s State) String() string { return named(stateNames[:], int(s)) }

// ParseState finds a state by name.
func ParseState(name string) (State, error) {
	i, err := numberOf("state", stateNames[:], name)
	return State(i), err
}

// Cause is the first cause of a stop, as the cause table has it. The zero value is none.
type Cause struct {
	Number int    // in records; 0 is none
	Name   string // as in the record's cause marks
}

// unknownCause is a number that the profile lacks.
const unknownCause = -1

// Verb is a command of the supervisory system.
type Verb int

// The verbs. Position and Rate take a value in rad and rad/s, Select the number
// of a satellite; the others none.
const (
	Arm Verb = iota + 1
	Start
	Stop
	Hold
	Position
	Rate
	Select
	Stow
	Reset
	Acknowledge
	Rest
	Restart
)

var verbNames = [...]string{"", "arm", "start", "stop", "hold", "position", "rate", "select",
	"stow", "reset", "acknowledge", "rest", "restart"}

// String is the name of the verb.
func (v Verb) String() string { return named(verbNames[:], int(v)) }

// ParseVerb finds a verb by name.
func ParseVerb(name string) (Verb, error) {
	i, err := numberOf("verb", verbNames[:], name)
	return Verb(i), err
}

func named(names []string, i int) string {
	if i < 0 || i >= len(names) {
		return "unknown"
	}
	return names[i]
}

func numberOf(what string, names []string, name string) (int, error) {
	for i, n := range names {
		if n == name && n != "" {
			return i, nil
		}
	}
	return -1, fmt.Errorf("controller: no %s is called %q", what, name)
}
