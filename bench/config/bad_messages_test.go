package config

// badMessages are the lines that each bad file of testdata/config owes.
var badMessages = map[string][]string{
	"controller_endpoint.bad.yaml": {
		`controller_endpoint.bad.yaml:11: agent.endpoint "tcp 127.0.0.1:10161" is no ` +
			"endpoint; SNMP goes by UDP; write such as udp 127.0.0.1:10161",
	},
	"controller_fill.bad.yaml": {
		`controller_fill.bad.yaml:105: commands[0].set[3] has fill "tokn"; need axis, ` +
			"value or token",
	},
	"controller_oid.bad.yaml": {
		`controller_oid.bad.yaml:34: objects.counter ".1.x.0" is no object identifier; ` +
			`object identifier "1.3.6.1.4.1.32473.1.x.0": sub-identifier "x" is no number ` +
			"up to 2^32-1; write numbers with dots between",
	},
	"controller_state.bad.yaml": {
		"controller_state.bad.yaml:48: states[0] is unknown; no state is called " +
			`"sleeping"; use a name of the bench`,
	},
	"controller_unknown_key.bad.yaml": {
		`controller_unknown_key.bad.yaml:177: unknown key "obeys"; section result has ` +
			"none of that name; did you mean obeyed?",
	},
	"map_address.bad.yaml": {
		"map_address.bad.yaml:20: preset: address 65536; need 0 to 65535",
	},
	"map_overlap.bad.yaml": {
		"map_overlap.bad.yaml:8: speed: overlaps position_value in input 1; mend the " +
			"map",
	},
	"map_quantity_twice.bad.yaml": {
		"map_quantity_twice.bad.yaml:11: alarms: stands twice in input; mend the map",
	},
	"map_scale.bad.yaml": {
		`map_scale.bad.yaml:8: points[1].scale: unknown unit "furlong"; need a unit ` +
			"such as rpm, deg/s or N m",
	},
	"map_unknown_key.bad.yaml": {
		`map_unknown_key.bad.yaml:9: unknown key "typ"; section point has none of that ` +
			"name; did you mean type?",
	},
	"map_unknown_type.bad.yaml": {
		`map_unknown_type.bad.yaml:7: points[0].type: no type "u33"; need one of [bit ` +
			"u16 s16 u32 s32 u64 s64]",
	},
	"requirement_kind.bad.yaml": {
		`requirement_kind.bad.yaml:3: HR-001: kind "reflex" is none of reaction, ` +
			"restraint; mend it",
	},
	"requirement_limit.bad.yaml": {
		"requirement_limit.bad.yaml:13: HR-002: limit azimuth.pre_to_finl; station demo " +
			"has no such parameter; name one of its table",
	},
	"requirement_twice.bad.yaml": {
		"requirement_twice.bad.yaml:13: requirement HR-001 stands twice; mend it",
	},
	"requirement_unknown_key.bad.yaml": {
		`requirement_unknown_key.bad.yaml:6: unknown key "hazrd"; section requirement ` +
			"has none of that name; did you mean hazard?",
	},
	"rule10_address.bad.yaml": {
		"rule10_address.bad.yaml:177: encoders.elevation is at 127.0.0.1:15021 unit 1, " +
			"where encoders.azimuth is already; two devices never share address, port and " +
			"unit; give it another port or unit (rule 10)",
	},
	"rule10_order.bad.yaml": {
		"rule10_order.bad.yaml:80: azimuth.buffer is at 5.000 deg and final_limit at " +
			"5.400 deg; limits are ordered outward; move the outer one outward (rule 10)",
	},
	"rule10_watchdog.bad.yaml": {
		"rule10_watchdog_sheet.bad.yaml:7: watchdog of azimuth.1 is 1.200 s; the axis " +
			"crosses from pre-limit to final limit in 1.167 s; shorten it, 0 is none (rule " +
			"10)",
	},
	"rule1_reaction.bad.yaml": {
		"rule1_reaction.bad.yaml:78: azimuth.pre_limit is 0.200 deg past the software " +
			"limit; the controller's reaction at full rate needs 0.300 deg; lower full_rate " +
			"or move it outward (rule 1)",
	},
	"rule2_ramp_stop.bad.yaml": {
		"rule2_ramp_stop.bad.yaml:79: azimuth.final_limit is 2.000 deg past the " +
			"pre-limit; 1.25 ramp stops of 1.717 deg need 2.146 deg; lower full_rate or " +
			"move it outward (rule 2)",
	},
	"rule3_category0.bad.yaml": {
		"rule3_category0.bad.yaml:80: azimuth.buffer is 0.700 deg past the final limit; " +
			"1.6 category 0 stops of 0.559 deg with one brake need 0.895 deg; lower " +
			"full_rate or move it outward (rule 3)",
	},
	"rule4_late_brakes.bad.yaml": {
		"rule4_late_brakes.bad.yaml:81: azimuth.buffer_stroke ends 1.400 deg past the " +
			"final limit; the category 0 stop with both brakes 200 ms late takes 1.503 deg; " +
			"lower full_rate or move it outward (rule 4)",
	},
	"rule5_buffer_energy.bad.yaml": {
		"rule5_buffer_energy.bad.yaml:82: azimuth.buffer_energy is 3000.0 J; the moving " +
			"axis and what pushes it bring 3257.5 J; give a larger buffer or less to take " +
			"(rule 5)",
	},
	"rule6_brakes_hold.bad.yaml": {
		"rule6_brakes_hold.bad.yaml:96: azimuth.brake_torque is 35.000 kN m; one brake " +
			"alone must hold 38.406 kN m, 1.25 of unbalance and 20 m/s; give a larger brake " +
			"(rule 6)",
		"rule6_brakes_hold.bad.yaml:96: azimuth.brake_torque is 35.000 kN m; both " +
			"brakes must hold 86.413 kN m, 1.25 of unbalance and 30 m/s; give larger brakes " +
			"(rule 6)",
	},
	"rule7_motors.bad.yaml": {
		"rule7_motors.bad.yaml:93: azimuth.rated_torque gives 40.000 kN m with both " +
			"motors; 20 m/s, unbalance, friction and the stop ramp need 41.011 kN m; give " +
			"larger motors or a gentler ramp (rule 7)",
	},
	"rule7_peak.bad.yaml": {
		"rule7_peak.bad.yaml:94: azimuth.peak_torque gives 56.000 kN m with both " +
			"motors; 25 m/s, unbalance, friction and the stop ramp need 58.294 kN m; give " +
			"larger motors or a gentler ramp (rule 7)",
	},
	"rule8_ramp.bad.yaml": {
		"rule8_ramp.bad.yaml:85: azimuth.stop_ramp is never reached from 2.400 deg/s; " +
			"ramp^2/jerk is 2.420 deg/s; lower the ramp or raise stop_jerk (rule 8)",
	},
	"rule8_ss1.bad.yaml": {
		"rule8_ss1.bad.yaml:36: interlock.ss1_time is 1.600 s; the ramp of azimuth, " +
			"standstill, brakes and 40 ms take 1.681 s; lengthen it or steepen the ramp " +
			"(rule 8)",
	},
	"rule9_stow.bad.yaml": {
		"rule9_stow.bad.yaml:23: stow.time is 50.000 s; elevation needs 53.208 s from " +
			"its farther limit; allow more or stow nearer (rule 9)",
	},
	"rule9_stow_outside.bad.yaml": {
		"rule9_stow_outside.bad.yaml:22: stow.elevation is 93.000 deg; the software " +
			"limits are 5.000 deg and 92.000 deg; stow between them (rule 9)",
	},
	"sheet_end.bad.yaml": {
		`sheet_end.bad.yaml:11: sto_ends_in "nothing": no such state; need disabled or ` +
			"fault",
	},
	"sheet_option_code.bad.yaml": {
		"sheet_option_code.bad.yaml:26: options.halt is 9; CiA 402 allows 1 to 4; give " +
			"one of them",
	},
	"sheet_unknown_key.bad.yaml": {
		`sheet_unknown_key.bad.yaml:9: unknown key "sto_dely"; section sheet has none ` +
			"of that name; did you mean sto_delay?",
	},
	"sheet_whole_number.bad.yaml": {
		`sheet_whole_number.bad.yaml:26: options.halt "one": not a whole number; need ` +
			"one without a unit",
	},
	"station_cycle.bad.yaml": {
		"station_cycle.bad.yaml:52: controller.cycle is 120.0 ms; two cycles must fit " +
			"into controller.reaction, 60.0 ms; shorten it",
		"station_cycle.bad.yaml:52: controller.cycle is 120.0 ms; two cycles must fit " +
			"into controller.silence, 100.0 ms; shorten it",
		"station_cycle.bad.yaml:52: controller.cycle is 120.0 ms; two cycles must fit " +
			"into interlock.watchdog, 200.0 ms; shorten it",
	},
	"station_wind.bad.yaml": {
		"station_wind.bad.yaml:16: wind.constant is 60.00 m/s; the motors turn an axis " +
			"against 25 m/s at most (rule 7); lower it",
	},
	"station_duplicate_key.bad.yaml": {
		`station_duplicate_key.bad.yaml:84: key "full_rate" stands twice; it is already ` +
			"at line 83; remove one",
	},
	"station_empty.bad.yaml": {
		"station_empty.bad.yaml:1: holds no keys and values; a station is a list of " +
			"keys; start from an embedded one",
	},
	"station_encoder_too_short.bad.yaml": {
		"station_encoder_too_short.bad.yaml:174: encoders.azimuth: its range of turns " +
			"is shorter than the travel of its axis; mend it",
	},
	"station_ends_swapped.bad.yaml": {
		"station_ends_swapped.bad.yaml:77: azimuth.software_limit runs from 205.000 deg " +
			"to -205.000 deg; lower must come first; swap them",
	},
	"station_flag.bad.yaml": {
		`station_flag.bad.yaml:39: interlock.enabling_device "maybe": not a yes or no; ` +
			"need true or false",
	},
	"station_gear_below_one.bad.yaml": {
		"station_gear_below_one.bad.yaml:91: azimuth.gear is 0.5; no antenna has " +
			"that; plausible is 10 to 1000000; mend the figure",
	},
	"station_list_for_value.bad.yaml": {
		"station_list_for_value.bad.yaml:83: azimuth.full_rate is a list or a set of " +
			"keys; need a number with its unit; write it as one value",
	},
	"station_many.bad.yaml": {
		`station_many.bad.yaml:36: unknown key "ss1_tim"; section interlock has none of ` +
			"that name; did you mean ss1_time?",
		`station_many.bad.yaml:83: azimuth.full_rate "2.4": no unit provided; need ` +
			"deg/s, rad/s or rpm",
		`station_many.bad.yaml:89: azimuth.locked_rotor "3.6 m": unknown unit "m"; need ` +
			"Hz, kHz, MHz or GHz",
	},
	"station_map_of_other_device.bad.yaml": {
		`fixtures/maps/drive-axis-side.yaml:4: is a map for device "drive"; a seat of ` +
			"device interlock names it; name a map of the seat's device",
	},
	"station_map_quantity.bad.yaml": {
		`map_quantity_none.bad.yaml:11: points[4].quantity is "worries"; no encoder has that; ` +
			"use one of position_value, speed, alarms, supported_alarms, warnings, " +
			"supported_warnings, operating_status, operating_parameters, resolution, " +
			"revolutions, total_range, preset, offset_value, life_counter, " +
			"second_position_value, second_alarms, head_difference",
	},
	"station_missing_key.bad.yaml": {
		"station_missing_key.bad.yaml:76: azimuth.gear is missing; nothing is assumed " +
			"for it; add the key gear",
	},
	"station_missing_unit.bad.yaml": {
		`station_missing_unit.bad.yaml:83: azimuth.full_rate "2.4": no unit provided; ` +
			"need deg/s, rad/s or rpm",
	},
	"station_negative.bad.yaml": {
		"station_negative.bad.yaml:83: azimuth.full_rate is -2.400 deg/s; it must be " +
			"above 0; give a positive value",
	},
	"station_no_port.bad.yaml": {
		`station_no_port.bad.yaml:175: encoders.azimuth.endpoint: "127.0.0.1" is not an ` +
			"address with a port; need such as 127.0.0.1:15021",
	},
	"station_no_yaml.bad.yaml": {
		"station_no_yaml.bad.yaml:9: is not YAML; did not find expected ',' or ']'; " +
			"mend the form of the file near this line",
	},
	"station_not_a_number.bad.yaml": {
		`station_not_a_number.bad.yaml:83: azimuth.full_rate "fast": "fast" is not a ` +
			"number with a unit; need deg/s, rad/s or rpm",
	},
	"station_one_end.bad.yaml": {
		"station_one_end.bad.yaml:77: azimuth.software_limit is not a pair; an axis has " +
			"two ends; write [lower, upper]",
	},
	"station_outside_range.bad.yaml": {
		"station_outside_range.bad.yaml:87: azimuth.load_inertia is 95.000 t m^2, " +
			"outside its own range 100.000 t m^2 to 110.000 t m^2; mend the range",
	},
	"station_range_twice.bad.yaml": {
		"station_range_twice.bad.yaml:87: azimuth.load_inertia has within beside lowest " +
			"or highest; they say the same; keep one form",
	},
	"station_range_unknown_key.bad.yaml": {
		"station_range_unknown_key.bad.yaml:87: azimuth.load_inertia has the unknown " +
			`key "withn"; a parameter has none of that name; did you mean within?`,
	},
	"station_range_without_value.bad.yaml": {
		"station_range_without_value.bad.yaml:87: azimuth.load_inertia has no value; a " +
			"range alone is no parameter; add the key value",
	},
	"station_sheet_per_axis.bad.yaml": {
		"station_sheet_per_axis.bad.yaml:190: drives.azimuth.1.sheet names " +
			"servo-unit, a unit for both motors of the axis; drives.azimuth.2 names " +
			"main-axis-motor; name one sheet at both",
	},
	"station_two_documents.bad.yaml": {
		"station_two_documents.bad.yaml:211: a second document begins; a file holds " +
			"one; remove it",
	},
	"station_unit_too_large.bad.yaml": {
		"station_unit_too_large.bad.yaml:175: encoders.azimuth.unit is 256; a unit id " +
			"is one byte; give 0 to 255",
	},
	"station_unknown_contact.bad.yaml": {
		`station_unknown_contact.bad.yaml:168: wiring.azimuth: "hatch" is not known ` +
			"here; need final_limit or isolator",
	},
	"station_unknown_key.bad.yaml": {
		`station_unknown_key.bad.yaml:83: unknown key "full_rat"; section main axis has ` +
			"none of that name; did you mean full_rate?",
	},
	"station_unknown_map.bad.yaml": {
		`station_unknown_map.bad.yaml:176: encoders.azimuth.map names "encoder-none", ` +
			"which is neither beside this file nor embedded; embedded are drive-axis-side, " +
			"drive-motor-side, drive-split-tables, encoder-holding-registers, " +
			"encoder-input-registers, interlock-bits, interlock-registers; name one that is " +
			"there",
	},
	"station_unknown_origin.bad.yaml": {
		"station_unknown_origin.bad.yaml:87: azimuth.load_inertia.origin is wrong; no " +
			`such origin "guessed"; need assumed, data sheet or measured on site`,
	},
	"station_unknown_protocol.bad.yaml": {
		`station_unknown_protocol.bad.yaml:175: encoders.azimuth.protocol: "modbus-rtu" ` +
			"is not known here; need modbus-tcp",
	},
	"station_unknown_seat.bad.yaml": {
		`station_unknown_seat.bad.yaml:175: encoders.azimuth.seat: "relayed" is not ` +
			"known here; need emulated",
	},
	"station_unknown_stop.bad.yaml": {
		`station_unknown_stop.bad.yaml:40: interlock.hatch: "sometimes" is not known ` +
			"here; need never, in motion or always",
	},
	"station_value_for_section.bad.yaml": {
		"station_value_for_section.bad.yaml:25: is a single value; section standstill " +
			"is keys and values; give what an embedded file has here",
	},
	"station_wrong_unit.bad.yaml": {
		`station_wrong_unit.bad.yaml:83: azimuth.full_rate "2.4 kN m": unknown unit "kN ` +
			`m"; need deg/s, rad/s or rpm`,
	},
}
