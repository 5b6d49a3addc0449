package station_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/drive"
	"haltmark/emulators/encoder"
	"haltmark/emulators/interlock"
	"haltmark/emulators/nmea"
	"haltmark/emulators/weather"
)

// fields are what faults set in plant and devices.
type fields struct {
	Plant     plant.Faults
	Interlock interlock.Faults
	Encoders  [plant.AxisCount]encoder.Faults
	Seconds   [plant.AxisCount]encoder.Faults
	Drives    [plant.MotorCount]drive.Faults
	Mast      weather.Faults
}

func fieldsOf(s *station.Station) (f fields) {
	f.Plant, f.Interlock, f.Mast = s.Plant.Faults, s.Interlock.Faults, s.Mast.Faults
	for a, e := range s.Encoders {
		f.Encoders[a], f.Seconds[a] = e.Faults, e.Second.Faults
	}
	for m, d := range s.Drives {
		f.Drives[m] = d.Faults
	}
	return f
}

type fieldRow struct {
	fault string // name, target and parameters, "brake_late azimuth.1 by=50 ms"
	set   func(f *fields)
}

func wiringRows() []fieldRow {
	const welded, open, inverted = interlock.SwitchWeldedClosed, interlock.SwitchWeldedOpen,
		interlock.SwitchInverted
	i := func(set func(f *interlock.Faults)) func(*fields) {
		return func(f *fields) { set(&f.Interlock) }
	}
	panel := func(set func(f *interlock.PanelFaults)) func(*fields) {
		return func(f *fields) { set(&f.Interlock.Panel) }
	}
	return []fieldRow{
		{"pre_limit_welded azimuth.upper", i(func(f *interlock.Faults) { f.PreLimit[0][1] = welded })},
		{"pre_limit_inverted elevation.upper",
			i(func(f *interlock.Faults) { f.PreLimit[1][1] = inverted })},
		{"pre_limit_open azimuth.upper", i(func(f *interlock.Faults) { f.PreLimit[0][1] = open })},
		{"final_limit_welded elevation.lower",
			i(func(f *interlock.Faults) { f.FinalLimit[1][0] = welded })},
		{"final_limit_inverted azimuth.lower",
			i(func(f *interlock.Faults) { f.FinalLimit[0][0] = inverted })},
		{"final_limit_open elevation.lower",
			i(func(f *interlock.Faults) { f.FinalLimit[1][0] = open })},
		{"pre_limits_swapped azimuth", i(func(f *interlock.Faults) { f.PreLimitSwapped[0] = true })},
		{"final_limits_swapped elevation",
			i(func(f *interlock.Faults) { f.FinalLimitSwapped[1] = true })},
		{"emergency_stop_welded emergency_stop.2",
			i(func(f *interlock.Faults) { f.EmergencyStopWelded[1] = true })},
		{"brake_feedback_stuck azimuth.1 at=set",
			i(func(f *interlock.Faults) { f.BrakeFeedback[0] = interlock.StuckAt1 })},
		{"brake_feedback_stuck azimuth.1 at=released",
			i(func(f *interlock.Faults) { f.BrakeFeedback[0] = interlock.StuckAt0 })},
		{"input_stuck interlock input=pre_limit_azimuth_upper at=1", // the unit's second quantity
			i(func(f *interlock.Faults) { f.Inputs[1] = interlock.StuckAt1 })},
		{"relay_late interlock", i(func(f *interlock.Faults) { f.RelayLate = 200 * ms })},
		{"emergency_stop_pressed station",
			panel(func(f *interlock.PanelFaults) { f.EmergencyStop = [2]bool{true, true} })},
		{"emergency_stop_one_channel emergency_stop.2",
			panel(func(f *interlock.PanelFaults) { f.EmergencyStop = [2]bool{false, true} })},
		{"hatch_opened station", panel(func(f *interlock.PanelFaults) { f.Hatch = true })},
		{"ladder_opened station", panel(func(f *interlock.PanelFaults) { f.Ladder = true })},
		{"pin_inserted elevation", panel(func(f *interlock.PanelFaults) { f.Pin[1] = true })},
		{"stow_pin_in elevation", panel(func(f *interlock.PanelFaults) { f.Pin[1] = true })},
		{"isolator_opened polarization_v",
			panel(func(f *interlock.PanelFaults) { f.Isolator[3] = true })},
		{"mode_turned station mode=maintenance", panel(func(f *interlock.PanelFaults) {
			f.ModeTurned, f.Mode = true, interlock.Maintenance
		})},
		{"mode_turned station mode=local", panel(func(f *interlock.PanelFaults) {
			f.ModeTurned, f.Mode = true, interlock.Local
		})},
		{"mode_turned station mode=remote",
			panel(func(f *interlock.PanelFaults) { f.ModeTurned = true })},
		{"enabling_released station",
			panel(func(f *interlock.PanelFaults) { f.EnablingReleased = true })},
		{"override_key_left_on station", panel(func(f *interlock.PanelFaults) { f.Override = true })},
		{"reset_button_stuck station", panel(func(f *interlock.PanelFaults) { f.Reset = true })},
	}
}

func machineRows(brakeTorque float64) []fieldRow {
	return []fieldRow{
		{"brake_late azimuth.1", func(f *fields) { f.Plant.BrakeLate[0] = 200 * ms }},
		{"brake_worn azimuth.2", func(f *fields) { f.Plant.BrakeScale[1] = 0.8 }},
		{"brake_dragging elevation.1 torque=35 %",
			func(f *fields) { f.Plant.BrakeDrag[2] = 0.35 * brakeTorque }},
		{"brake_stuck_open azimuth.2", func(f *fields) { f.Plant.BrakeStuckOpen[1] = true }},
		{"brake_stuck_set elevation.1", func(f *fields) { f.Plant.BrakeStuckSet[2] = true }},
		{"drive_watchdog_ignored polarization_h.1",
			func(f *fields) { f.Drives[4].WatchdogDead = true }},
		{"drive_runaway elevation.1 torque=-100 %", func(f *fields) { f.Drives[2].Runaway = -1 }},
		{"drive_feedback_frozen azimuth.1", func(f *fields) { f.Drives[0].Feedback.Frozen = true }},
		{"drive_feedback_reversed azimuth.2",
			func(f *fields) { f.Drives[1].Feedback.Reversed = true }},
		{"drive_feedback_dead elevation.1", func(f *fields) { f.Drives[2].Feedback.Dead = true }},
		{"drive_torque_reversed elevation.2", func(f *fields) { f.Drives[3].ReversedTorque = true }},
		{"drive_ignores_command azimuth.1", func(f *fields) { f.Drives[0].IgnoreCommand = true }},
		{"drive_ignores_stop azimuth.1", func(f *fields) { f.Drives[0].IgnoreStop = true }},
		{"drive_sto_dead azimuth.1", func(f *fields) { f.Drives[0].STODead = true }},
		{"drive_status_stale azimuth.1", func(f *fields) { f.Drives[0].Stale = true }},
		{"drive_warning azimuth.1", func(f *fields) { f.Drives[0].Warning = true }},
		{"drive_torque_lost azimuth.1 share=25 %", func(f *fields) { f.Drives[0].TorqueLoss = 0.25 }},
		{"drive_offset_lost azimuth.1", func(f *fields) { f.Drives[0].OffsetError = -1 }},
		{"drive_offset_doubled azimuth.1", func(f *fields) { f.Drives[0].OffsetError = 1 }},
		{"drive_trip_held azimuth.2 code=0x8400", func(f *fields) { f.Drives[1].HeldTrip = 0x8400 }},
		{"mast_silent mast", func(f *fields) { f.Mast.Silent = true }},
		{"mast_frozen mast", func(f *fields) { f.Mast.Frozen = true }},
		{"mast_invalid mast", func(f *fields) { f.Mast.Invalid = true }},
		{"mast_unit mast unit=km/h", func(f *fields) { f.Mast.Unit = nmea.KilometresPerHour }},
		{"mast_unit mast unit=knots number=as_before",
			func(f *fields) { f.Mast.Unit, f.Mast.Mislabelled = nmea.Knots, true }},
		{"mast_spike mast by=30 m/s", func(f *fields) { f.Mast.Spike = 30 }},
	}
}

func encoderRows() []fieldRow {
	const degree = quantity.Degree
	return []fieldRow{
		{"encoder_offset polarization_v by=-5 deg",
			func(f *fields) { f.Encoders[3].Offset = -5 * degree }},
		{"encoder_stepping azimuth by=5 deg", func(f *fields) { f.Encoders[0].Offset = 5 * degree }},
		{"encoder_frozen elevation", func(f *fields) { f.Encoders[1].FrozenPosition = true }},
		{"encoder_drift elevation rate=0.8 deg/s",
			func(f *fields) { f.Encoders[1].Drift = 0.8 * quantity.DegreePerSecond }},
		{"encoder_alarm azimuth", func(f *fields) { f.Encoders[0].AlarmBits = 1 }},
		{"encoder_reversed azimuth", func(f *fields) { f.Encoders[0].Reversed = true }},
		{"encoder_eccentric azimuth amplitude=0.1 deg phase=30 deg", func(f *fields) {
			f.Encoders[0].Eccentricity, f.Encoders[0].EccentricityPhase = 0.1*degree, 30*degree
		}},
		{"encoder_late elevation", func(f *fields) { f.Encoders[1].Latency = 50 * ms }},
		{"encoder_noise azimuth within=1 deg", func(f *fields) { f.Encoders[0].Scatter = degree }},
		{"encoder_bit_stuck azimuth bit=12 at=1", func(f *fields) {
			f.Encoders[0].StuckBit = encoder.StuckBit{On: true, Number: 12, High: true}
		}},
		{"encoder_hung azimuth", func(f *fields) { f.Encoders[0].Frozen = true }},
		{"encoder_bad_data polarization_h", func(f *fields) { f.Encoders[2].BadData = true }},
		{"encoder_warning azimuth", func(f *fields) { f.Encoders[0].WarningBits = 0x10 }},
		{"encoder_torn elevation by=5 ms", func(f *fields) { f.Encoders[1].TornBy = 5 * ms }},
		{"second_head_offset azimuth by=-2 deg",
			func(f *fields) { f.Seconds[0].Offset = -2 * degree }},
		{"second_head_frozen elevation", func(f *fields) { f.Seconds[1].FrozenPosition = true }},
		{"second_head_alarm azimuth", func(f *fields) { f.Seconds[0].Alarm = true }},
	}
}

// fieldless faults set no such field; what they do is tried elsewhere, by what shows.
var fieldless = []string{"limit_chain_shifted", "external_torque", "gear_changed",
	"direction_changed", "supply_lost", "mains_lost", "drive_supply_lost", "supply_dip",
	"drive_supply_dip", "drive_trip", "wind_constant", "wind_gusts", "gust_step"}

// Each fault sets its own field to the value of its parameters or their defaults, and no
// other one.
func TestFaults_SetTheirField(t *testing.T) {
	set := demo(t)
	torque := float64(set.Plant.Axes[plant.Elevation].Motors[0].BrakeTorque)
	rows := append(append(wiringRows(), machineRows(torque)...), encoderRows()...)
	tried := map[string]bool{}
	for _, name := range fieldless {
		tried[name] = true
	}
	for _, row := range rows {
		name, rest, _ := strings.Cut(row.fault, " ")
		target, texts, _ := strings.Cut(rest, " ")
		parameters, last := map[string]string{}, ""
		for _, word := range strings.Fields(texts) {
			if key, value, is := strings.Cut(word, "="); is {
				last, parameters[key] = key, value
			} else {
				parameters[last] += " " + word
			}
		}
		tried[name] = true
		r := newRig(t, middle(), false, fault.Entry{Fault: mustFault(t, name, target, parameters)})
		want := fieldsOf(r.s)
		row.set(&want)
		r.s.Advance(time.Millisecond)
		if diff := cmp.Diff(want, fieldsOf(r.s)); diff != "" {
			t.Errorf("%s: -want +got\n%s", row.fault, diff)
		}
	}
	// Of a device without a field here another test sees that its own faults show at it alone.
	held := []string{"", "interlock", "mast"}
	for _, k := range station.Faults() {
		of := k.On.All()[0].Device.Role
		if k.Place != fault.PlaceWire && !tried[k.Name] && slices.Contains(held, of) {
			t.Errorf("%s is in no row here", k.Name)
		}
	}
}
