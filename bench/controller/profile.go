package controller

import (
	"errors"
	"fmt"
	"time"

	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/emulators/snmp"
)

// Launch says who starts the controller.
type Launch int

// The ways.
const (
	LaunchStandin  Launch = iota // the embedded stand-in, in the same world
	LaunchCommand                // a command that the bench runs and ends
	LaunchExternal               // it runs already; the bench never restarts it
)

// Profile is a controller's sheet: what it is asked and told, and in which words.
type Profile struct {
	Name    string
	Launch  Launch
	Command []string // program and arguments of LaunchCommand

	Agent          link.Endpoint // its SNMP agent, UDP
	Notify         link.Endpoint // where it sends notifications: the bench listens there
	ReadCommunity  string
	WriteCommunity string
	Timing         Timing

	Status  snmp.OID // INTEGER; see Layout
	Counter snmp.OID // Counter32 that every control cycle adds 1 to
	Version snmp.OID // OCTET STRING; nil when it has none
	Layout  StatusLayout
	States  []Numbered // its numbers and names of State
	Causes  []NumberedCause

	Columns       []Column
	AxisNumbers   [plant.AxisCount]int // what it calls the axes in commands and status
	AllAxes       int                  // what stands for all of them
	Commands      []Command
	Result        *Result // nil when it only answers the Set itself
	Notifications []NotificationKind
	// Objects that come with notifications: their serial number and text. Nil
	// where there is none.
	NotificationNumber, NotificationText snmp.OID
}

// Timing paces the observer. Zero fields become the value in brackets.
type Timing struct {
	Poll          time.Duration // status and counter [20 ms]
	Table         time.Duration // table of axes [1 s]
	Silent        time.Duration // unheard for this long is silent [70 ms]
	Frozen        time.Duration // a counter unchanged for this long is frozen [70 ms]
	Timeout       time.Duration // each try of a command [100 ms]
	Tries         int           // of a command [3]
	ResultTimeout time.Duration // a command owes its result within this [1 s]
}

// StatusLayout tells where things are in the status word. A width of 0 means that
// the word has no such field.
type StatusLayout struct {
	State, Cause, CauseAxis                 Field
	Locked, Acquired, Armed, Unacknowledged Field
}

// Field is Width bits from bit Bit, which counts from 0 at the lowest.
type Field struct{ Bit, Width int }

func (f Field) of(word uint32) int { return int(word >> f.Bit & (1<<f.Width - 1)) }

func (f Field) valid() bool { return f.Bit >= 0 && f.Width >= 0 && f.Bit+f.Width <= 31 }

// Numbered is a controller's number for a state by its name.
type Numbered struct {
	Number int
	Name   string
}

// NumberedCause is a controller's number for a stop cause.
type NumberedCause struct {
	Number int
	Cause  Cause
}

// Column is an object of each axis. Names known to the bench are "position"
// (rad), "rate" (rad/s), "state" and "target".
type Column struct {
	Name  string
	OIDs  [plant.AxisCount]snmp.OID // nil where an axis lacks it
	Scale float64                   // SI for each count; 0 means 1
}

// Command is a verb and the variables of its one Set, in their order.
type Command struct {
	Verb Verb
	Set  []Write
}

// Write is one variable of a Set.
type Write struct {
	OID   snmp.OID
	Type  snmp.Type
	Fill  Fill
	Fixed snmp.Value // for FillFixed
	Scale float64    // for FillValue: SI for each count; 0 means 1
}

// Fill says what a variable of a Set carries.
type Fill int

// The fillings.
const (
	FillFixed Fill = iota
	FillAxis       // the controller's number of the axis
	FillValue      // the command's value
	FillToken      // a number that no earlier command had
)

// Result tells what became of a command after its Set was taken.
type Result struct {
	Token, Code snmp.OID // of the last command that was decided
	Obeyed      int      // the code of a command that was obeyed
	Reasons     []Reason // codes of refusals
}

// Reason is a refusal's code and words.
type Reason struct {
	Code int
	Text string
}

// NotificationKind names a notification of the controller.
type NotificationKind struct {
	OID  snmp.OID
	Name string
}

// withDefaults fills the zero fields.
func (t Timing) withDefaults() Timing {
	for _, f := range []struct {
		to    *time.Duration
		value time.Duration
	}{
		{&t.Poll, 20 * time.Millisecond}, {&t.Table, time.Second},
		{&t.Silent, 70 * time.Millisecond}, {&t.Frozen, 70 * time.Millisecond},
		{&t.Timeout, 100 * time.Millisecond}, {&t.ResultTimeout, time.Second},
	} {
		if *f.to == 0 {
			*f.to = f.value
		}
	}
	if t.Tries == 0 {
		t.Tries = 3
	}
	return t
}

// Check finds what makes a profile unusable; the error names it.
func (p *Profile) Check() error {
	if p.Status == nil || p.Counter == nil {
		return fmt.Errorf("controller: profile %s lacks the status or the counter object", p.Name)
	}
	l := &p.Layout
	for _, f := range []Field{
		l.State, l.Cause, l.CauseAxis, l.Locked, l.Acquired, l.Armed, l.Unacknowledged,
	} {
		if !f.valid() {
			return fmt.Errorf("controller: profile %s: status field of %d bits from bit %d leaves the word",
				p.Name, f.Width, f.Bit)
		}
	}
	if p.Launch == LaunchCommand && len(p.Command) == 0 {
		return fmt.Errorf("controller: profile %s is launched by command and names none", p.Name)
	}
	if _, err := newVocabulary(p); err != nil {
		return err
	}
	for _, c := range p.Commands {
		if len(c.Set) == 0 {
			return fmt.Errorf("controller: profile %s: %v sets nothing", p.Name, c.Verb)
		}
	}
	return nil
}

// vocabulary maps the controller's numbers.
type vocabulary struct {
	states map[int]State
	causes map[int]Cause
	axes   map[int]int
}

func newVocabulary(p *Profile) (*vocabulary, error) {
	v := &vocabulary{states: map[int]State{}, causes: map[int]Cause{}, axes: map[int]int{}}
	var errs []error
	for _, n := range p.States {
		s, err := ParseState(n.Name)
		errs = append(errs, err)
		v.states[n.Number] = s
	}
	for _, n := range p.Causes {
		v.causes[n.Number] = n.Cause
	}
	for i, n := range p.AxisNumbers {
		v.axes[n] = i
	}
	if len(v.states) != len(p.States) || len(v.causes) != len(p.Causes) {
		errs = append(errs, fmt.Errorf("controller: profile %s numbers a state or cause twice", p.Name))
	}
	if len(v.axes) != len(p.AxisNumbers) {
		errs = append(errs, fmt.Errorf("controller: profile %s numbers an axis twice", p.Name))
	}
	return v, errors.Join(errs...)
}
