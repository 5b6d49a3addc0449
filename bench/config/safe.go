package config

import (
	"slices"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/drive"
)

// safeWiringSection names contacts for the inputs of safe functions. An axis or a
// function that is left out has nothing wired.
type safeWiringSection struct {
	Azimuth       *safeInputsSection `yaml:"azimuth,omitempty"`
	Elevation     *safeInputsSection `yaml:"elevation,omitempty"`
	PolarizationH *safeInputsSection `yaml:"polarization_h,omitempty"`
	PolarizationV *safeInputsSection `yaml:"polarization_v,omitempty"`
}

// safeInputsSection: any of the contacts selects the function. SDI takes limit
// switches alone, which forbid the direction outward.
type safeInputsSection struct {
	SS2 words `yaml:"ss2,omitempty"`
	SLS words `yaml:"sls,omitempty"`
	SDI words `yaml:"sdi,omitempty"`
	SBC words `yaml:"sbc,omitempty"`
}

// safeRow is one function's input as a station has it.
type safeRow struct {
	at       string // the key
	axis     plant.Axis
	name     string
	function drive.SafeRequest
	contacts []string
}

// safeRows lists the inputs that are wired, in a fixed order.
func (s *Station) safeRows() []safeRow {
	w := s.form.Wiring.Safe
	if w == nil {
		return nil
	}
	var rows []safeRow
	for axis, in := range []*safeInputsSection{w.Azimuth, w.Elevation, w.PolarizationH,
		w.PolarizationV} {
		if in == nil {
			continue
		}
		at := "wiring.safe_functions." + plant.AxisNames[axis] + "."
		for _, row := range []safeRow{
			{name: "ss2", function: drive.RequestSS2, contacts: in.SS2.values},
			{name: "sls", function: drive.RequestSLS, contacts: in.SLS.values},
			{name: "sdi", function: station.SafeDirection, contacts: in.SDI.values},
			{name: "sbc", function: drive.RequestSBC, contacts: in.SBC.values},
		} {
			if row.contacts != nil {
				row.at, row.axis = at+row.name, plant.Axis(axis)
				rows = append(rows, row)
			}
		}
	}
	return rows
}

// safeContacts are the words that a row may have.
func (row safeRow) safeContacts() []string {
	var known []string
	for i, word := range station.ContactNames() {
		c := station.Contact(i)
		if c.AtEnd() == (row.function == station.SafeDirection) &&
			(row.axis.Main() || !c.OfMainAxis()) {
			known = append(known, word)
		}
	}
	return known
}

// checkSafe reports contacts that are none, functions that a drive does not have, and
// a limited speed at which nobody could move the axis by hand.
func (s *Station) checkSafe(r *report) {
	for _, row := range s.safeRows() {
		known := row.safeContacts()
		if len(known) == 0 {
			r.add(s.doc.file, s.doc.line(row.at), "%s has contacts; %v has no limit switches; remove "+
				"it", row.at, row.axis)
			continue
		}
		for _, word := range row.contacts {
			s.oneOf(row.at, word, known, r)
		}
		first, count := row.axis.Motors()
		for m := first; m < first+count; m++ {
			if s.sheets[m].form.Sheet.set && !s.sheets[m].has(row.function) {
				r.add(s.doc.file, s.doc.line(row.at), "%s is wired; the sheet %s of %s has no such safe "+
					"function; add safety.%s to it or remove the wire", row.at,
					s.driveSeat(m).Sheet.value, plant.MotorNames[m], row.name)
				break
			}
		}
		s.checkHandSpeed(row, r)
	}
}

// checkHandSpeed holds a limited speed against that of the hand control.
func (s *Station) checkHandSpeed(row safeRow, r *report) {
	byHand := slices.Contains(row.contacts, "local") || slices.Contains(row.contacts, "maintenance")
	first, _ := row.axis.Motors()
	safety := s.sheets[first].form.Safety
	if row.function != drive.RequestSLS || !byHand || safety == nil || safety.SLS == nil {
		return
	}
	full := s.axis(row.axis).FullRate.value
	limit := quantity.Rate(full * safety.SLS.Rate.value)
	need := quantity.Rate(full * handRateShare * s.form.Overspeed.Ratio.value)
	if limit < need {
		r.add(s.doc.file, s.doc.line(row.at), "%s limits the speed to %v; the hand control moves the "+
			"axis, overspeed included, at %v; raise safety.sls.rate of the sheet", row.at, limit, need)
	}
}

// has reports whether a sheet lists a safe function.
func (s *sheet) has(function drive.SafeRequest) bool {
	f := s.form.Safety
	if f == nil {
		return false
	}
	switch function {
	case drive.RequestSS2:
		return f.SS2 != nil
	case drive.RequestSLS:
		return f.SLS != nil
	case station.SafeDirection:
		return f.SDI != nil
	}
	return f.SBC.value
}

// safeInputs is the wiring of the assembled station.
func (s *Station) safeInputs() []station.SafeInput {
	var all []station.SafeInput
	names := station.ContactNames()
	for _, row := range s.safeRows() {
		for _, word := range row.contacts {
			if c := slices.Index(names, word); c >= 0 {
				all = append(all, station.SafeInput{Axis: row.axis, Function: row.function,
					Contact: station.Contact(c)})
			}
		}
	}
	return all
}
