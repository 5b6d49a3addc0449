package fault

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/quantity"
	"haltmark/emulators/interlock"
)

func make1(t *testing.T, name, on string, pairs ...string) Fault {
	t.Helper()
	parameters := map[string]string{}
	for i := 0; i < len(pairs); i += 2 {
		parameters[pairs[i]] = pairs[i+1]
	}
	f, err := New(name, on, parameters)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

type effectRow struct {
	name, on string
	pairs    []string
	want     Effect
}

// The faults that the scenarios of the limit chain, the emergency stop, the
// encoders and the drives need; HAZARDS.md HZ-01 to HZ-18 name their causes.
func physicsRows() []effectRow {
	const deg = quantity.Degree
	return []effectRow{
		{"pre_limit_welded", "azimuth.upper", nil,
			LimitSwitch{0, 1, PreLimit, interlock.SwitchWeldedClosed}},
		{"final_limit_welded", "elevation.lower", nil,
			LimitSwitch{1, 0, FinalLimit, interlock.SwitchWeldedClosed}},
		{"pre_limit_inverted", "elevation.upper", nil,
			LimitSwitch{1, 1, PreLimit, interlock.SwitchInverted}},
		{"final_limit_inverted", "azimuth.lower", nil,
			LimitSwitch{0, 0, FinalLimit, interlock.SwitchInverted}},
		{"limit_chain_shifted", "azimuth.lower", []string{"inward", "20 deg"},
			LimitChainShift{0, 0, 20 * deg}},
		{"brake_late", "azimuth.1", nil, BrakeLate{0, 200 * time.Millisecond}},
		{"brake_worn", "azimuth.2", nil, BrakeWorn{1, 0.8}},
		{"brake_dragging", "elevation.1", []string{"torque", "35 %"}, BrakeDragging{2, 0.35}},
		{"external_torque", "azimuth", []string{"torque", "-30.72 kN m"},
			ExternalTorque{0, -30.72 * quantity.KilonewtonMetre}},
		{"gear_changed", "elevation", []string{"ratio", "1.5"}, GearChanged{1, 1.5}},
		{"direction_changed", "azimuth.2", nil, DirectionChanged{1}},
		{"supply_lost", "station", nil, SupplyLost{}},
		{"drive_supply_lost", "polarization_v.1", nil, DriveSupplyLost{5}},
	}
}

func deviceRows() []effectRow {
	const deg = quantity.Degree
	return []effectRow{
		{"encoder_offset", "polarization_v", []string{"by", "-5 deg"}, EncoderOffset{3, -5 * deg}},
		{"encoder_frozen", "elevation", nil, EncoderFrozen{1}},
		{"encoder_stepping", "azimuth", []string{"by", "5 deg"},
			EncoderStepping{Axis: 0, By: 5 * deg}},
		{"encoder_stepping", "azimuth", []string{"by", "5 deg", "every", "70 ms"},
			EncoderStepping{0, 5 * deg, 70 * time.Millisecond}},
		{"encoder_drift", "elevation", []string{"rate", "0.8 deg/s"},
			EncoderDrift{1, 0.8 * quantity.DegreePerSecond}},
		{"encoder_alarm", "azimuth", nil, EncoderAlarm{0, 1}},
		{"encoder_reversed", "azimuth", nil, EncoderReversed{0}},
		{"encoder_silent", "polarization_h", nil, Silence{Device: Device{Encoder, 2}}},
		{"drive_trip", "azimuth.2", []string{"code", "0x8400"}, DriveTrip{1, 0x8400}},
		{"drive_silent", "elevation.2", nil, Silence{Device: Device{Drive, 3}}},
		{"drive_watchdog_ignored", "polarization_h.1", nil, DriveWatchdogIgnored{4}},
		{"drive_runaway", "elevation.1", []string{"torque", "-100 %"}, DriveRunaway{2, -1}},
		{"interlock_silent", "interlock", nil, Silence{Device: Device{Interlock, 0}}},
		{"emergency_stop_welded", "emergency_stop.2", nil, EmergencyStopWelded{1}},
		{"brake_feedback_stuck", "azimuth.1", []string{"at", "set"},
			BrakeFeedbackStuck{0, interlock.StuckAt1}},
		{"brake_feedback_stuck", "azimuth.1", []string{"at", "released"},
			BrakeFeedbackStuck{0, interlock.StuckAt0}},
		{"silence", "azimuth.1.drive", []string{"direction", "to_controller"},
			Silence{Device{Drive, 0}, ToController}},
		{"delay", "interlock", []string{"by", "50 ms", "jitter", "3 ms"},
			Delay{Device{Interlock, 0}, BothWays, 50 * time.Millisecond, 3 * time.Millisecond}},
		{"refuse", "elevation.encoder", nil, Refuse{Device{Encoder, 1}}},
		{"reset", "polarization_v.1.drive", nil, Reset{Device{Drive, 5}}},
		{"pulled_cable", "azimuth.encoder", nil, PulledCable{Device{Encoder, 0}}},
	}
}

func TestNew_GivesTheTypedEffect(t *testing.T) {
	seen := map[string]bool{}
	for _, row := range slices.Concat(physicsRows(), deviceRows(), weatherRows(), peopleRows(),
		liarRows(), wireRows()) {
		seen[row.name] = true
		f := make1(t, row.name, row.on, row.pairs...)
		if diff := cmp.Diff(row.want, f.Effect); diff != "" {
			t.Errorf("%s %s %v: -want +got\n%s", row.name, row.on, row.pairs, diff)
		}
		if f.Name != row.name || f.Target != row.on {
			t.Errorf("%s %s calls itself %s %s", row.name, row.on, f.Name, f.Target)
		}
	}
	for _, k := range Catalogue() {
		if !seen[k.Name] {
			t.Errorf("%s is in the catalogue and not in this table", k.Name)
		}
	}
}

// Everything in the catalogue can be done to everything it says it can.
func TestCatalogue_EveryEntryStandsByItself(t *testing.T) {
	names := map[string]bool{}
	for _, k := range Catalogue() {
		if names[k.Name] {
			t.Errorf("%s stands twice", k.Name)
		}
		names[k.Name] = true
		if k.Does == "" || strings.Trim(k.Name, "abcdefghijklmnopqrstuvwxyz_") != "" {
			t.Errorf("%q does %q", k.Name, k.Does)
		}
		found, err := Find(k.Name)
		if err != nil || found.Name != k.Name {
			t.Errorf("finding %s: %v", k.Name, err)
		}
		effects := map[any]string{}
		for _, on := range k.On.Targets() {
			f, err := New(k.Name, on, k.Example())
			if err != nil {
				t.Errorf("%s %s: %v", k.Name, on, err)
				continue
			}
			if other, twice := effects[f.Effect]; twice {
				t.Errorf("%s does the same to %s and %s", k.Name, on, other)
			}
			effects[f.Effect] = on
			for i, p := range k.Parameters {
				if p.Does == "" || f.Parameters[i].Name != p.Name || f.Parameters[i].Value == "" {
					t.Errorf("%s: parameter %+v printed as %v", k.Name, p, f.Parameters[i])
				}
			}
		}
	}
}

func TestNew_RefusesWithTheNearestName(t *testing.T) {
	rows := []struct {
		name, on string
		pairs    []string
		want     string
	}{
		{"encoder_frozn", "azimuth", nil,
			`fault: no fault is called "encoder_frozn"; did you mean "encoder_frozen"?`},
		{"earthquake", "azimuth", nil, `fault: no fault is called "earthquake"`},
		{"encoder_frozen", "azimut", nil,
			`fault: encoder_frozen: "azimut" is not an axis; did you mean "azimuth"?`},
		{"pre_limit_welded", "polarization_h.upper", nil,
			`fault: pre_limit_welded: "polarization_h.upper" is not an end of a main axis`},
		{"silence", "azimuth.3.drive", nil,
			`fault: silence: "azimuth.3.drive" is not a device; did you mean "azimuth.1.drive"?`},
		{"drive_trip", "azimuth.1", []string{"cod", "1"},
			`fault: drive_trip: no parameter is called "cod"; did you mean "code"?`},
		{"drive_trip", "azimuth.1", []string{"z", "1", "a", "1"},
			`fault: drive_trip: no parameter is called "a"`},
		{"drive_trip", "azimuth.1", []string{"code", "65536"},
			`fault: drive_trip: code: "65536" is no whole number of 16 bits`},
		{"drive_trip", "azimuth.1", []string{"code", "0"}, `fault: drive_trip: code: 0 is below 1`},
		{"encoder_offset", "azimuth", nil,
			`fault: encoder_offset: by: must be given, such as "5 deg"`},
		{"encoder_offset", "azimuth", []string{"by", "5"},
			`fault: encoder_offset: by: no unit provided; need deg or rad`},
		{"brake_worn", "azimuth.1", []string{"torque", "101 %"},
			`fault: brake_worn: torque: 101 % is above 100 %`},
		{"delay", "interlock", []string{"by", "1e300 min"},
			`fault: delay: by: 1e300 min is above 24 h`},
		{"brake_late", "azimuth.1", []string{"by", "-1 ms"},
			`fault: brake_late: by: -1 ms is below 0 s`},
		{"limit_chain_shifted", "azimuth.upper", []string{"inward", "-1 deg"},
			`fault: limit_chain_shifted: inward: -1 deg is below 0 deg`},
		{"brake_feedback_stuck", "azimuth.1", []string{"at", "open"},
			`fault: brake_feedback_stuck: at: "open" is none of released, set`},
	}
	for _, row := range rows {
		parameters := map[string]string{}
		for i := 0; i < len(row.pairs); i += 2 {
			parameters[row.pairs[i]] = row.pairs[i+1]
		}
		_, err := New(row.name, row.on, parameters)
		if err == nil || err.Error() != row.want {
			t.Errorf("got  %v\nwant %s", err, row.want)
		}
	}
}

func TestFault_PrintsItsParametersWithUnits(t *testing.T) {
	got := []string{
		make1(t, "encoder_stepping", "azimuth", "by", "5 deg").String(),
		make1(t, "drive_trip", "azimuth.1").String(),
		make1(t, "silence", "interlock").String(),
		make1(t, "supply_lost", "station").String(),
	}
	want := []string{
		"encoder_stepping azimuth by=5.000 deg every=" + quantity.Format(quantity.DimSpan, 0),
		"drive_trip azimuth.1 code=0x2310",
		"silence interlock direction=both",
		"supply_lost station",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}

// The textbook pairs of edit distance (Levenshtein; from memory).
func TestDistance_TextbookPairs(t *testing.T) {
	rows := []struct {
		a, b string
		want int
	}{
		{"kitten", "sitting", 3}, {"saturday", "sunday", 3}, {"flaw", "lawn", 2},
		{"", "abc", 3}, {"abc", "", 3}, {"same", "same", 0}, {"intention", "execution", 5},
	}
	for _, row := range rows {
		if got := distance(row.a, row.b); got != row.want {
			t.Errorf("%s to %s: %d, want %d", row.a, row.b, got, row.want)
		}
	}
}

// Whatever is typed, New gives a fault of the catalogue or an error; no span of it is negative.
func FuzzNew(f *testing.F) {
	f.Add("encoder_offset", "azimuth", "by", "5 deg")
	f.Add("drive_trip", "azimuth.1", "code", "0xffff")
	f.Add("delay", "interlock", "by", "1e300 min")
	f.Add("brake_worn", "elevation.2", "torque", "NaN")
	f.Fuzz(func(t *testing.T, name, on, parameter, value string) {
		made, err := New(name, on, map[string]string{parameter: value})
		if err != nil {
			return
		}
		if made.Effect == nil || !slices.ContainsFunc(Catalogue(), func(k Kind) bool {
			return k.Name == made.Name && slices.Contains(k.On.Targets(), made.Target)
		}) {
			t.Fatalf("%q %q %q %q gave %v", name, on, parameter, value, made)
		}
		spans := map[string]time.Duration{}
		switch e := made.Effect.(type) {
		case Delay:
			spans["by"], spans["jitter"] = e.By, e.Jitter
		case EncoderStepping:
			spans["every"] = e.Every
		case BrakeLate:
			spans["by"] = e.By
		case EncoderLate:
			spans["by"] = e.By
		case EncoderTorn:
			spans["by"] = e.By
		case RelayLate:
			spans["by"] = e.By
		case SlowBytes:
			spans["every"] = e.Every
		}
		for name, span := range spans {
			if span < 0 {
				t.Fatalf("%s=%q gave %s of %v", parameter, value, name, span)
			}
		}
	})
}
