package fault

import (
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/interlock"
)

const ms1 = time.Millisecond

// Causes of HAZARDS.md: people HZ-02, HZ-03, HZ-22; wiring HZ-16; brakes HZ-09.
func peopleRows() []effectRow {
	return []effectRow{
		{"pre_limit_open", "azimuth.upper", nil,
			LimitSwitch{0, 1, PreLimit, interlock.SwitchWeldedOpen}},
		{"final_limit_open", "elevation.lower", nil,
			LimitSwitch{1, 0, FinalLimit, interlock.SwitchWeldedOpen}},
		{"pre_limits_swapped", "azimuth", nil, SwitchesSwapped{0, PreLimit}},
		{"final_limits_swapped", "elevation", nil, SwitchesSwapped{1, FinalLimit}},
		{"brake_stuck_open", "azimuth.2", nil, BrakeStuck{1, true}},
		{"brake_stuck_set", "elevation.1", nil, BrakeStuck{2, false}},
		{"mains_lost", "station", nil, MainsLost{}},
		{"supply_dip", "station", []string{"to", "70 %", "length", "15 ms"},
			SupplyDip{-1, 0.7, 15 * ms1}},
		{"supply_dip", "station", nil, SupplyDip{-1, 0.4, 0}},
		{"drive_supply_dip", "elevation.1", []string{"to", "0 %"}, SupplyDip{2, 0, 0}},
		{"stow_pin_in", "elevation", nil, StowPinIn{1}},
		{"emergency_stop_pressed", "station", nil, EmergencyStopPressed{[2]bool{true, true}}},
		{"emergency_stop_one_channel", "emergency_stop.2", nil,
			EmergencyStopPressed{[2]bool{false, true}}},
		{"hatch_opened", "station", nil, HatchOpened{}},
		{"ladder_opened", "station", nil, LadderOpened{}},
		{"pin_inserted", "elevation", nil, PinInserted{1}},
		{"isolator_opened", "polarization_v", nil, IsolatorOpened{3}},
		{"mode_turned", "station", []string{"mode", "maintenance"},
			ModeTurned{interlock.Maintenance}},
		{"mode_turned", "station", []string{"mode", "local"}, ModeTurned{interlock.Local}},
		{"mode_turned", "station", []string{"mode", "remote"}, ModeTurned{interlock.Remote}},
		{"enabling_released", "station", nil, EnablingReleased{}},
		{"override_key_left_on", "station", nil, OverrideLeft{}},
		{"reset_button_stuck", "station", nil, ResetHeld{}},
		{"input_stuck", "interlock", []string{"input", "pre_limit_azimuth_upper", "at", "1"},
			InputStuck{1, interlock.StuckAt1}}, // the second of the unit's quantities
		{"relay_late", "interlock", nil, RelayLate{200 * ms1}},
	}
}

// HAZARDS.md HZ-04, HZ-05, HZ-08.
func liarRows() []effectRow {
	const deg = quantity.Degree
	return []effectRow{
		{"encoder_eccentric", "azimuth", []string{"amplitude", "0.1 deg", "phase", "30 deg"},
			EncoderEccentric{0, 0.1 * deg, 30 * deg}},
		{"encoder_late", "elevation", nil, EncoderLate{1, 50 * ms1}},
		{"encoder_noise", "azimuth", []string{"within", "1 deg"}, EncoderNoise{0, deg}},
		{"encoder_bit_stuck", "azimuth", []string{"bit", "12", "at", "1"},
			EncoderBitStuck{0, 12, true}},
		{"encoder_hung", "azimuth", nil, EncoderHung{0}},
		{"encoder_bad_data", "polarization_h", nil, EncoderBadData{2}},
		{"encoder_warning", "azimuth", nil, EncoderWarning{0, 0x10}},
		{"encoder_torn", "elevation", []string{"by", "5 ms"}, EncoderTorn{1, 5 * ms1}},
		{"second_head_offset", "azimuth", []string{"by", "-2 deg"}, SecondHeadOffset{0, -2 * deg}},
		{"second_head_frozen", "elevation", nil, SecondHeadFrozen{1}},
		{"second_head_alarm", "azimuth", nil, SecondHeadAlarm{0}},
		{"drive_feedback_frozen", "azimuth.1", nil, DriveMisbehaves{0, FeedbackFrozen}},
		{"drive_feedback_reversed", "azimuth.2", nil, DriveMisbehaves{1, FeedbackReversed}},
		{"drive_feedback_dead", "elevation.1", nil, DriveMisbehaves{2, FeedbackDead}},
		{"drive_torque_reversed", "elevation.2", nil, DriveMisbehaves{3, TorqueReversed}},
		{"drive_ignores_command", "azimuth.1", nil, DriveMisbehaves{0, IgnoresCommand}},
		{"drive_ignores_stop", "azimuth.1", nil, DriveMisbehaves{0, IgnoresStop}},
		{"drive_sto_dead", "azimuth.1", nil, DriveMisbehaves{0, STODead}},
		{"drive_status_stale", "azimuth.1", nil, DriveMisbehaves{0, StatusStale}},
		{"drive_warning", "azimuth.1", nil, DriveMisbehaves{0, WarningRaised}},
		{"drive_torque_lost", "azimuth.1", []string{"share", "25 %"}, DriveTorqueLost{0, 0.25}},
		{"drive_offset_lost", "azimuth.1", nil, DriveOffsetWrong{0, -1}},
		{"drive_offset_doubled", "azimuth.1", nil, DriveOffsetWrong{0, 1}},
		{"drive_trip_held", "azimuth.2", []string{"code", "0x8400"}, DriveTripHeld{1, 0x8400}},
	}
}

// The plan's wire faults, HAZARDS.md HZ-12.
func wireRows() []effectRow {
	encoder, unit := Device{Encoder, 0}, Device{Interlock, 0}
	var rows []effectRow
	for name, how := range map[string]Spoiling{
		"messages_lost": Dropped, "messages_repeated": Repeated, "messages_truncated": Truncated,
		"messages_corrupted": Corrupted, "messages_merged": Merged, "answers_late": Late,
		"transactions_swapped": TransactionsSwapped, "transaction_repeated": TransactionRepeated,
		"wrong_unit": WrongUnit,
	} {
		rows = append(rows,
			effectRow{name, "azimuth.encoder", nil, Spoiled{encoder, ToController, how, 1}},
			effectRow{name, "interlock", []string{"probability", "5 %", "direction", "to_device"},
				Spoiled{unit, ToDevice, how, 0.05}})
	}
	return append(rows,
		effectRow{"slow_bytes", "interlock", []string{"every", "3 ms", "direction", "both"},
			SlowBytes{unit, BothWays, 3 * ms1}},
		effectRow{"half_open", "azimuth.encoder", nil, HalfOpen{encoder}})
}
