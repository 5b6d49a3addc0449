package station

import (
	"haltmark/bench/plant"
	"haltmark/emulators/drive"
	"haltmark/emulators/interlock"
)

// Contact is one at the panel or in the interlock chain that can select a safe
// function of a drive. It is wired by itself: what the unit reports does not matter.
type Contact uint8

// The contacts. Switches select by their end, the pin and the isolator by their axis.
const (
	ContactRelay Contact = iota // the safety relay's instant contact, open
	ContactLocal                // the mode selector stands at local
	ContactMaintenance
	ContactHatch
	ContactLadder
	ContactPin
	ContactIsolator
	ContactOverride
	ContactPreLimit
	ContactFinalLimit
)

// ContactNames are the words for contacts, in order of their numbers.
func ContactNames() []string {
	return []string{"relay", "local", "maintenance", "hatch", "ladder", "pin", "isolator",
		"override_key", "pre_limit", "final_limit"}
}

// AtEnd reports whether a main axis has two such contacts, one at each end.
func (c Contact) AtEnd() bool { return c >= ContactPreLimit }

// OfMainAxis reports whether only main axes have this contact.
func (c Contact) OfMainAxis() bool { return c == ContactPin || c.AtEnd() }

// SafeInput is a contact that selects a safe function on the drives of an axis, beside
// SS1, which the relay selects everywhere. A contact at an end forbids the direction
// that leads further out: both SDI inputs are wired, each to its end.
type SafeInput struct {
	Axis     plant.Axis
	Function drive.SafeRequest // one of RequestSS2, RequestSLS, RequestSBC or SafeDirection
	Contact  Contact
}

// SafeDirection is both inputs of SDI.
const SafeDirection = drive.RequestSDIPositive | drive.RequestSDINegative

// safeRequests is what the wiring asks of the drives of each axis: SS1 by the relay's
// instant contact, on those that have it, with the delayed one behind it as STO; and
// the rest as the station has it.
func (s *Station) safeRequests() (all [plant.AxisCount]drive.SafeRequest) {
	if !s.Interlock.InstantContact {
		for a := range all {
			all[a] = drive.RequestSS1
		}
	}
	for i := range s.set.Wiring.Safe {
		one := &s.set.Wiring.Safe[i]
		if one.Function != SafeDirection {
			if s.selects(one.Contact, one.Axis) {
				all[one.Axis] |= one.Function
			}
			continue
		}
		switches := s.Interlock.PreLimit[one.Axis]
		if one.Contact == ContactFinalLimit {
			switches = s.Interlock.FinalLimit[one.Axis]
		}
		if switches[plant.Lower] {
			all[one.Axis] |= drive.RequestSDIPositive
		}
		if switches[plant.Upper] {
			all[one.Axis] |= drive.RequestSDINegative
		}
	}
	return all
}

// selects reports whether a contact that is not at an end selects what it is wired to.
func (s *Station) selects(c Contact, axis plant.Axis) bool {
	panel := s.Interlock.PanelInputs()
	switch c {
	case ContactRelay:
		return !s.Interlock.InstantContact
	case ContactLocal:
		return panel.Mode == interlock.Local
	case ContactMaintenance:
		return panel.Mode == interlock.Maintenance
	case ContactHatch:
		return panel.Hatch
	case ContactLadder:
		return panel.Ladder
	case ContactPin:
		return axis.Main() && panel.Pin[axis]
	case ContactIsolator:
		return panel.Isolator[axis]
	case ContactOverride:
		return panel.Override
	}
	return false
}
