package config

// badFeatureMessages are the lines owed by the bad files of servo units and of what
// a drive sheet may switch on.
var badFeatureMessages = map[string][]string{
	"sheet_flag.bad.yaml": {
		`sheet_flag.bad.yaml:37: i2t.fold_back "perhaps": not a yes or no; need true ` +
			"or false",
	},
	"sheet_interpolation.bad.yaml": {
		"sheet_interpolation.bad.yaml:31: interpolation_time is of cyclic_velocity; " +
			"modes does not list that; add it or remove the key",
	},
	"sheet_link_missing.bad.yaml": {
		"sheet_link_missing.bad.yaml:38: link.resistor_heat is missing; nothing is " +
			"assumed for it; add the key resistor_heat",
	},
	"sheet_link_negative.bad.yaml": {
		"sheet_link_negative.bad.yaml:39: link.energy is -60.0 J; it must be above 0; " +
			"give a positive value",
	},
	"sheet_link_order.bad.yaml": {
		"sheet_link_order.bad.yaml:40: link.under is 105 %; the nominal voltage would " +
			"trip it; lower it",
		"sheet_link_order.bad.yaml:41: link.chopper is 99 %; the resistor would burn " +
			"the nominal voltage; raise it",
		"sheet_link_order.bad.yaml:42: link.over is 98 %; the resistor only acts at " +
			"99 %; raise it",
		"sheet_link_order.bad.yaml:46: link.efficiency is 101 %; no antenna has that; " +
			"plausible is 50 % to 100 %; mend the figure",
	},
	"sheet_link_unit.bad.yaml": {
		`sheet_link_unit.bad.yaml:43: link.resistor_time "150 kN m": unknown unit "kN ` +
			`m"; need us, ms, s, min or h`,
	},
	"sheet_mode_lacking.bad.yaml": {
		"sheet_mode_lacking.bad.yaml:30: modes lacks profile_velocity; the drive " +
			"starts and stops in it; add it",
	},
	"sheet_mode_unknown.bad.yaml": {
		`sheet_mode_unknown.bad.yaml:30: modes has "homing"; need profile_velocity, ` +
			"profile_torque, cyclic_velocity or cyclic_torque",
	},
	"sheet_overspeed.bad.yaml": {
		"sheet_overspeed.bad.yaml:34: overspeed is 120 %; max_velocity is 125 % and " +
			"would trip it; raise it",
	},
	"sheet_partner_of_unit.bad.yaml": {
		"sheet_partner_of_unit.bad.yaml:36: partner_interlock is true; a unit for a " +
			"whole axis has no partner; remove the key",
	},
	"sheet_safety_margin.bad.yaml": {
		"sheet_safety_margin.bad.yaml:51: safety.ss1 has one of ramp and margin; a " +
			"monitored ramp needs both; add the other",
	},
	"sheet_safety_no_ss1.bad.yaml": {
		"sheet_safety_no_ss1.bad.yaml:50: safety.reaction is ss1; the sheet has no " +
			"such function; add safety.ss1",
	},
	"sheet_safety_ramp.bad.yaml": {
		"sheet_safety_ramp.bad.yaml:51: safety.ss1.ramp is 110 %; " +
			"quick_stop_deceleration is 100 %, so that a sound stop would violate it; " +
			"lower it",
	},
	"sheet_safety_reaction.bad.yaml": {
		`sheet_safety_reaction.bad.yaml:50: safety.reaction "stop": no such reaction; ` +
			"need sto or ss1",
	},
	"sheet_safety_sls.bad.yaml": {
		"sheet_safety_sls.bad.yaml:53: safety.sls.rate is 125 %; max_velocity is 125 " +
			"%, so that it never acts; lower it",
	},
	"sheet_safety_unknown_key.bad.yaml": {
		`sheet_safety_unknown_key.bad.yaml:54: unknown key "windows"; section sdi has ` +
			"none of that name; did you mean window?",
	},
	"station_servo_apart.bad.yaml": {
		"station_servo_apart.bad.yaml:191: drives.azimuth.2 is at 127.0.0.1:15032 " +
			"unit 1 and drives.azimuth.1 at 127.0.0.1:15031 unit 1; one unit serves both " +
			"motors; give both one address, port, unit and map",
	},
	"station_servo_polarization.bad.yaml": {
		"station_servo_polarization.bad.yaml:203: drives.polarization_h.1.sheet names " +
			"servo-unit, a unit for two motors; the axis has 1; name a sheet for one " +
			"motor",
	},
}
