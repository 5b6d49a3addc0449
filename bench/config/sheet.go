package config

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
)

// sheet is a drive sheet as loaded.
type sheet struct {
	form    sheetFile
	doc     *document
	options cia402.Options
	end     drive.STOEnd
}

// CheckSheet loads a drive sheet by itself, to see whether its form holds.
func CheckSheet(name string) error {
	f, err := open(kindSheet, name)
	if err != nil {
		return err
	}
	var r report
	readSheet(f, "drive", &r)
	return r.err()
}

// readSheet reads a drive sheet and lists its parameters under the motor's name.
func readSheet(f *file, motor string, r *report) (sheet, []Parameter) {
	s, own := sheet{}, &report{}
	s.doc = decode(f, &s.form, own)
	defer func() { r.take(own.err()) }()
	if own.err() != nil {
		return s, nil
	}
	rows := s.doc.parameters(&s.form, s.form.Origin.value, motor+".", own)
	if per := s.form.Per.value; per != "motor" && per != "axis" {
		own.add(f, s.doc.line("per"), "per %q: no such arrangement; need motor or axis", per)
	}
	switch s.form.STOEndsIn.value {
	case "disabled":
		s.end = drive.STODisables
	case "fault":
		s.end = drive.STOFaults
	default:
		own.add(f, s.doc.line("sto_ends_in"), "sto_ends_in %q: no such state; need disabled or fault",
			s.form.STOEndsIn.value)
	}
	s.readOptions(own)
	s.checkFeatures(own)
	return s, rows
}

// readOptions takes the option codes, each within what its object allows.
func (s *sheet) readOptions(r *report) {
	o := &s.form.Options
	rows := []struct {
		key             string
		from            count
		lowest, highest int64
		into            *int16
	}{
		{"quick_stop", o.QuickStop, 0, 8, &s.options.QuickStop},
		{"shutdown", o.Shutdown, 0, 1, &s.options.Shutdown},
		{"disable", o.Disable, 0, 1, &s.options.Disable},
		{"halt", o.Halt, 1, 4, &s.options.Halt},
		{"fault_reaction", o.FaultReaction, 0, 4, &s.options.FaultReaction},
		{"abort", o.Abort, 0, 3, &s.options.Abort},
	}
	for _, row := range rows {
		code := row.from.value
		if code < row.lowest || code > row.highest {
			r.add(s.doc.file, s.doc.line("options."+row.key),
				"options.%s is %d; CiA 402 allows %d to %d; give one of them",
				row.key, code, row.lowest, row.highest)
			continue
		}
		*row.into = int16(code)
	}
}

// driveParameters makes the drive of a motor from sheet and axis.
func (s *Station) driveParameters(motor int) drive.Parameters {
	a := s.axis(plant.MotorAxis[motor])
	sheet := &s.sheets[motor]
	form := &sheet.form
	_, motors := plant.MotorAxis[motor].Motors()
	share := func(part float64, r value[ratio]) float64 { return part * r.value }
	moved := a.MotorInertia.value + a.LoadInertia.value/float64(motors)
	quickStop := share(a.StopRamp.value, form.QuickStopDeceleration)
	p := drive.Parameters{
		RatedTorque:           quantity.Torque(a.RatedTorque.value),
		PeakTorque:            quantity.Torque(a.PeakTorque.value),
		Inertia:               quantity.Inertia(moved),
		SpeedLoop:             quantity.Frequency(a.SpeedLoop.value),
		IntegralTime:          form.IntegralTime.span(),
		MaxVelocity:           quantity.Rate(share(a.FullRate.value, form.MaxVelocity)),
		Acceleration:          quantity.Acceleration(share(a.Acceleration.value, form.Acceleration)),
		Deceleration:          quantity.Acceleration(share(a.StopRamp.value, form.Deceleration)),
		QuickStopDeceleration: quantity.Acceleration(quickStop),
		TorqueSlope:           form.TorqueSlope.value,
		Options:               sheet.options,
		Watchdog:              form.Watchdog.span(),
		SelfTest:              form.SelfTest.span(),
		BrakeHold:             s.brakeHold(motor, form),
		STODelay:              form.STODelay.span(),
		STOEndsIn:             sheet.end,
		VelocityOff:           quantity.Rate(share(a.FullRate.value, form.VelocityWindow)),
		VelocityOffTime:       form.VelocityWindowTime.span(),
		StandstillRate:        quantity.Rate(s.form.Standstill.Rate.value),
		StandstillTime:        s.form.Standstill.Hold.span(),
	}
	sheet.features(a, &p)
	return p
}

// brakeHold is the brake's engage delay and the sheet's margin, where the motor has
// a brake and the drive minds it.
func (s *Station) brakeHold(motor int, form *sheetFile) time.Duration {
	if margin := form.BrakeMargin.span(); margin > 0 && plant.MotorAxis[motor].Main() {
		return s.form.Brake.Engage.span() + margin
	}
	return 0
}
