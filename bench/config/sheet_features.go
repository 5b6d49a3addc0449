package config

import (
	"fmt"
	"slices"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
)

// modeWords are the words for modes of operation, with their bits of object 6502.
func modeWords() ([]string, []uint32) {
	return []string{"profile_velocity", "profile_torque", "cyclic_velocity", "cyclic_torque"},
		[]uint32{cia402.SupportsProfileVelocity, cia402.SupportsProfileTorque,
			cia402.SupportsCyclicVelocity, cia402.SupportsCyclicTorque}
}

// modes is object 6502, and 0 where the key is left out.
func (s *sheet) modes() uint32 {
	names, bits := modeWords()
	var all uint32
	for _, word := range s.form.Modes.values {
		if i := slices.Index(names, word); i >= 0 {
			all |= bits[i]
		}
	}
	return all
}

// contradiction reports a key whose value another one makes meaningless.
func (s *sheet) contradiction(r *report, wrong bool, at, format string, args ...any) {
	if wrong {
		r.add(s.doc.file, s.doc.line(at), at+" "+format, args...)
	}
}

// percent prints a share as the sheets write it.
func percent(si float64) string { return fmt.Sprintf("%.6g %%", 100*si) }

// checkFeatures reports what the optional keys may not say together.
func (s *sheet) checkFeatures(r *report) {
	f := &s.form
	names, _ := modeWords()
	for _, word := range f.Modes.values {
		s.contradiction(r, !slices.Contains(names, word), "modes", "has %q; need %s", word,
			alternatives(names))
	}
	s.contradiction(r, f.Modes.set && s.modes()&cia402.SupportsProfileVelocity == 0, "modes",
		"lacks profile_velocity; the drive starts and stops in it; add it")
	s.contradiction(r, f.Interpolation.set && s.modes()&cia402.SupportsCyclicVelocity == 0,
		"interpolation_time", "is of cyclic_velocity; modes does not list that; add it or remove "+
			"the key")
	s.contradiction(r, f.Overspeed.set && f.Overspeed.lowest <= f.MaxVelocity.highest, "overspeed",
		"is %s; max_velocity is %s and would trip it; raise it", percent(f.Overspeed.value),
		percent(f.MaxVelocity.value))
	s.contradiction(r, f.PartnerInterlock.value && f.Per.value == "axis", "partner_interlock",
		"is true; a unit for a whole axis has no partner; remove the key")
	if f.Link != nil {
		s.checkLink(f.Link, r)
	}
	if f.Safety != nil {
		s.checkSafety(f.Safety, r)
	}
}

func (s *sheet) checkLink(l *linkSection, r *report) {
	s.contradiction(r, l.Under.value >= 1, "link.under", "is %s; the nominal voltage would trip "+
		"it; "+
		"lower it", percent(l.Under.value))
	s.contradiction(r, l.Chopper.value <= 1, "link.chopper", "is %s; the resistor would act at "+
		"nominal voltage; raise it", percent(l.Chopper.value))
	s.contradiction(r, l.Over.value <= l.Chopper.value, "link.over", "is %s; the resistor only "+
		"acts "+
		"at %s; raise it", percent(l.Over.value), percent(l.Chopper.value))
}

func (s *sheet) checkSafety(f *safetySection, r *report) {
	word := f.Reaction.value
	s.contradiction(r, word != "sto" && word != "ss1", "safety.reaction", "%q: no such reaction; "+
		"need sto or ss1", word)
	s.contradiction(r, word == "ss1" && f.SS1 == nil, "safety.reaction", "is ss1; the sheet has no "+
		"such function; add safety.ss1")
	if one := f.SS1; one != nil {
		s.contradiction(r, one.Ramp.set != one.Margin.set, "safety.ss1", "has one of ramp and margin; "+
			"a monitored ramp needs both; add the other")
		s.contradiction(r, one.Ramp.value > s.form.QuickStopDeceleration.value, "safety.ss1.ramp",
			"is %s; quick_stop_deceleration is %s, so that a normal stop would violate it; lower it",
			percent(one.Ramp.value), percent(s.form.QuickStopDeceleration.value))
	}
	if f.SLS != nil {
		s.contradiction(r, f.SLS.Rate.value >= s.form.MaxVelocity.value, "safety.sls.rate", "is %s; "+
			"max_velocity is %s, so that it never acts; lower it", percent(f.SLS.Rate.value),
			percent(s.form.MaxVelocity.value))
	}
}

// features puts what the optional keys switch on into the parameters of a drive
// on axis a.
func (s *sheet) features(a *axisSection, p *drive.Parameters) {
	f, full := &s.form, a.FullRate.value
	of := func(whole float64, part value[ratio]) float64 { return whole * part.value }
	p.Modes = s.modes()
	p.Interpolation = f.Interpolation.span()
	p.MaxMotorSpeed = quantity.Rate(of(full, f.MaxMotorSpeed))
	p.BaseRate = quantity.Rate(of(full, f.BaseRate))
	p.Overspeed = quantity.Rate(of(full, f.Overspeed))
	p.BlockedTime = f.BlockedTime.span()
	p.PartnerInterlock = f.PartnerInterlock.value
	if w := f.Following; w != nil {
		p.FollowingError, p.FollowingTime = quantity.Angle(w.Angle.value), w.Time.span()
	}
	if t := f.I2t; t != nil {
		p.Thermal = drive.Thermal{PeakTime: t.PeakTime.span(), FoldBack: t.FoldBack.value}
	}
	if l := f.Link; l != nil {
		p.Link = drive.Link{
			Energy:     quantity.Energy(l.Energy.value),
			Chopper:    quantity.Ratio(l.Chopper.value),
			Over:       quantity.Ratio(l.Over.value),
			Under:      quantity.Ratio(l.Under.value),
			Resistor:   l.ResistorTime.span(),
			Heat:       quantity.Energy(l.ResistorHeat.value),
			Cooling:    l.Cooling.span(),
			Efficiency: quantity.Ratio(l.Efficiency.value),
			Dip:        l.Dip.span(),
		}
	}
	if f.Safety != nil {
		p.Safety = f.Safety.functions(a)
	}
}

func (f *safetySection) functions(a *axisSection) drive.Safety {
	full := a.FullRate.value
	set := drive.Safety{SBC: f.SBC.value}
	if f.Reaction.value == "ss1" {
		set.Reaction = drive.ReactSS1
	}
	if one := f.SS1; one != nil {
		set.SS1Time = one.Time.span()
		set.SS1Ramp = quantity.Acceleration(a.StopRamp.value * one.Ramp.value)
		set.RampMargin = quantity.Rate(full * one.Margin.value)
	}
	if two := f.SS2; two != nil {
		set.SS2Time, set.SOSWindow = two.Time.span(), quantity.Angle(two.Window.value)
	}
	if f.SLS != nil {
		set.SLSRate, set.SLSTime = quantity.Rate(full*f.SLS.Rate.value), f.SLS.Time.span()
	}
	if f.SDI != nil {
		set.SDIWindow = quantity.Angle(f.SDI.Window.value)
	}
	return set
}
