package standin

import (
	"fmt"
	"time"
)

// flaw switches an honest controller's behaviour to a wrong one. All zero is honest.
type flaw struct {
	obstinate           bool
	ignoresSoftware     bool
	preLimitInverted    bool
	stopsAzimuthOnly    bool
	restartsOnReset     bool
	trustsEncoder       bool
	stopLate            time.Duration
	partnerPulls        bool
	recoversOutward     bool
	deafToStop          bool
	resetsWhilePressed  bool
	remoteInLocal       bool
	skipsHorn           bool
	brakesAtSpeed       bool
	releasesUnproved    bool
	recoversFast        bool
	recoversWithoutKey  bool
	movesOnReconnection bool
	outwardAtPreLimit   bool
	silentAgent         bool
	namesLastCause      bool
	fast                bool
	handLatches         bool
}

// Defect is a seeded fault of the controller's logic, for showing that the
// bench catches it.
type Defect struct {
	Name        string
	Wrong       string // what it does wrong
	Requirement string // the requirement expected to catch it
	set         func(*flaw)
}

// Obstinate is the extreme: it obeys motion and reacts to nothing.
const Obstinate = "obstinate"

// flawOf finds a defect by name; "" is none.
func flawOf(name string) (flaw, error) {
	var f flaw
	if name == "" {
		return f, nil
	}
	for _, d := range Defects() {
		if d.Name == name {
			d.set(&f)
			return f, nil
		}
	}
	return f, fmt.Errorf("standin: no defect %q; `haltmark defects` lists them", name)
}

// Defects is the catalogue.
func Defects() []Defect {
	return []Defect{}
}
