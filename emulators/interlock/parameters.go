package interlock

import (
	"fmt"
	"slices"
	"time"

	"haltmark/bench/plant"
)

// Stops says when an opened contact counts as a cause of the stop chain.
type Stops int

// What a contact does to the stop chain. The controller is always told.
const (
	StopsNever Stops = iota
	// StopsInMotion trips the chain when any axis is not at standstill. Once it
	// has, the contact must close again before the relay can be reset.
	StopsInMotion
	StopsAlways
)

// Parameters of the unit. Which contacts trip the chain is the wiring of a
// station; the emergency stop always does (ISO 13850:2015 4.1.1.2, secondary).
type Parameters struct {
	RelayDelay  time.Duration // a channel opens to instant contact opens, 20 ms
	SS1Time     time.Duration // instant to delayed contact; 0 is stop category 0
	Watchdog    time.Duration // the controller may be silent for this long, 200 ms
	Discrepancy time.Duration // channels may differ for this long, 0.5 s

	Hatch, Ladder, Pin, ModeChange Stops

	// EnablingDevice tells that hand control counts as held only while the
	// enabling device is in its middle position.
	EnablingDevice bool
}

// Validate names the first parameter that makes no unit.
func (p Parameters) Validate() error {
	spans := []struct {
		name  string
		value time.Duration
		least time.Duration
	}{
		{"relay delay", p.RelayDelay, 0},
		{"monitored ramp time", p.SS1Time, 0},
		{"watchdog", p.Watchdog, 1},
		{"channel discrepancy time", p.Discrepancy, 1},
	}
	for _, s := range spans {
		if s.value < s.least {
			return fmt.Errorf("interlock: %s %v is below %v", s.name, s.value, s.least)
		}
	}
	stops := []struct {
		name  string
		value Stops
	}{
		{"hatch", p.Hatch}, {"ladder", p.Ladder}, {"pin", p.Pin}, {"mode change", p.ModeChange},
	}
	for _, s := range stops {
		if s.value < StopsNever || s.value > StopsAlways {
			return fmt.Errorf("interlock: %s has no stop %d", s.name, s.value)
		}
	}
	return nil
}

// Mode is the position of the mode selector.
type Mode int

// Positions of the mode selector.
const (
	Remote Mode = iota
	Local
	Maintenance
)

// ModeNames holds the names of the positions.
var ModeNames = [...]string{"remote", "local", "maintenance"}

// String is the name of the position.
func (m Mode) String() string { return ModeNames[m] }

// ModeNamed finds a position by its name; ok is false where there is none.
func ModeNamed(name string) (m Mode, ok bool) {
	m = Mode(slices.Index(ModeNames[:], name))
	return m, m >= 0
}

// Input is what the field wiring shows at one step.
type Input struct {
	// Switches by main axis and end: true is actuated, the contact open, before
	// any fault of the unit's own list.
	PreLimit, FinalLimit [plant.MainAxes][plant.EndCount]bool
	BrakeFeedback        [plant.MotorCount]bool // true is brake set
	// Standstill of each axis as a safe monitor sees it; false is in motion.
	Standstill [plant.AxisCount]bool
	// SupplyLost takes the unit's own supply: every contact and output drops.
	SupplyLost bool
}

// Panel is what people at the antenna press, open, turn and hold. The zero
// value is a closed, released station in remote mode.
type Panel struct {
	EmergencyStop [2]bool              // pressed, by channel; a hand presses both
	Hatch, Ladder bool                 // open
	Pin           [plant.MainAxes]bool // not fully withdrawn, its contact open
	Mode          Mode
	HandAxis      int                   // axis chosen at the hand control
	HandDirection int                   // -1, 0 (let go), +1
	Enabling      bool                  // enabling device in its middle position
	Override      bool                  // maintained key of the final limits
	Reset         bool                  // button
	Arm           bool                  // button
	Isolator      [plant.AxisCount]bool // open: the axis is isolated
}

// SwitchFault is what is wrong with one limit switch.
type SwitchFault uint8

// Faults of a limit switch.
const (
	SwitchSound        SwitchFault = iota
	SwitchWeldedClosed             // never opens: never seen actuated
	SwitchWeldedOpen               // never closes: always seen actuated
	SwitchInverted
)

// Contact is the contact of a switch with this fault; true is open.
func (f SwitchFault) Contact(actuated bool) bool {
	switch f {
	case SwitchWeldedClosed:
		return false
	case SwitchWeldedOpen:
		return true
	case SwitchInverted:
		return !actuated
	}
	return actuated
}

// Stuck is a level that an input no longer leaves.
type Stuck uint8

// Levels of a stuck input; of a brake feedback, 1 is set.
const (
	Free Stuck = iota
	StuckAt0
	StuckAt1
)

func (s Stuck) level(level bool) bool {
	if s == Free {
		return level
	}
	return s == StuckAt1
}

// Faults of the unit and of what is wired to it; all zero is sound.
type Faults struct {
	EmergencyStopWelded [2]bool // this channel's contact no longer opens
	PreLimit            [plant.MainAxes][plant.EndCount]SwitchFault
	FinalLimit          [plant.MainAxes][plant.EndCount]SwitchFault
	PreLimitSwapped     [plant.MainAxes]bool // lower and upper exchanged
	FinalLimitSwapped   [plant.MainAxes]bool
	BrakeFeedback       [plant.MotorCount]Stuck
	Inputs              [InputCount]Stuck // by quantity: what the unit reports
	RelayLate           time.Duration     // added to the relay delay
	Panel               PanelFaults
}
