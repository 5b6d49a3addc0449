package station_test

import (
	"slices"
	"strings"
	"testing"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/station"
	"haltmark/emulators/registers"
)

// complete is the demo station with every part that a fault can be about.
func complete(t *testing.T) station.Parameters {
	set := demo(t)
	for a := range set.Encoders {
		set.Encoders[a].SecondHead = true
	}
	return set
}

func withoutMast(p *station.Parameters) {
	p.Seats = slices.DeleteFunc(slices.Clone(p.Seats), func(s station.Seat) bool {
		return s.Role == station.RoleMast
	})
}

// unread takes what begins so out of the interlock unit's map.
func unread(p *station.Parameters, quantity string) {
	seat := p.Seat(station.RoleInterlock, 0)
	seat.Map.Points = slices.DeleteFunc(slices.Clone(seat.Map.Points),
		func(p registers.Point) bool { return strings.HasPrefix(p.Quantity, quantity) })
}

// refused are the faults of the catalogue that a station does not take, with their targets.
func refused(set *station.Parameters) map[string][]string {
	found := map[string][]string{}
	for _, k := range station.Faults() {
		for _, target := range k.On.Targets() {
			if _, err := set.Fault(k.Name, target, k.Example()); err != nil {
				found[k.Name] = append(found[k.Name], target)
			}
		}
	}
	return found
}

// missing is a part that a station may lack, and the faults that go with it.
type missing struct {
	part, target string
	without      func(p *station.Parameters)
	faults       []string
}

func missingMachines() []missing {
	brake := []string{"brake_late", "brake_worn", "brake_dragging", "brake_stuck_open",
		"brake_stuck_set", "brake_feedback_stuck"}
	return []missing{
		{"brake", "elevation.2", func(p *station.Parameters) {
			p.Plant.Axes[plant.Elevation].Motors = slices.Clone(p.Plant.Axes[plant.Elevation].Motors)
			p.Plant.Axes[plant.Elevation].Motors[1].BrakeTorque = 0
		}, brake},
		{"brake feedback", "azimuth.1", func(p *station.Parameters) {
			unread(p, "brake_feedback_azimuth_1")
		}, []string{"brake_feedback_stuck"}},
		{"stow pin", "azimuth",
			func(p *station.Parameters) { p.Plant.Axes[plant.Azimuth].Pin = plant.PinParameters{} },
			[]string{"pin_inserted", "stow_pin_in"}},
		{"watchdog", "azimuth.2", func(p *station.Parameters) { p.Drives[1].Watchdog = 0 },
			[]string{"drive_watchdog_ignored"}},
		{"base rate", "", func(p *station.Parameters) {
			for m := range p.Drives {
				p.Drives[m].BaseRate = 0
			}
		}, []string{"supply_dip", "drive_supply_dip"}},
		{"two drives", "azimuth.", func(p *station.Parameters) {
			p.Drives[0].Servo, p.Drives[1].Servo = true, true
		}, []string{"drive_offset_lost", "drive_offset_doubled"}},
		{"antenna for strong wind", "station", func(p *station.Parameters) { p.Survival = 1 },
			[]string{"wind_constant", "wind_gusts", "gust_step"}},
	}
}

func missingDevices() []missing {
	mast := []string{"mast_silent", "mast_frozen", "mast_invalid", "mast_unit", "mast_spike",
		"silence", "delay", "refuse", "reset", "pulled_cable", "slow_bytes", "half_open",
		"messages_lost", "messages_repeated", "messages_truncated", "messages_corrupted",
		"messages_merged", "answers_late"}
	final := []string{"final_limits_swapped", "final_limit_welded", "final_limit_inverted",
		"final_limit_open"}
	return []missing{
		{"mast", "mast", withoutMast, mast},
		{"second head", "elevation", func(p *station.Parameters) { p.Encoders[1].SecondHead = false },
			[]string{"second_head_offset", "second_head_frozen", "second_head_alarm"}},
		{"bit 16", "azimuth", func(p *station.Parameters) { p.Encoders[0].TotalRange = 1 << 16 },
			[]string{"encoder_bit_stuck", "encoder_torn"}},
		{"enabling device", "station",
			func(p *station.Parameters) { p.Interlock.EnablingDevice = false },
			[]string{"enabling_released"}},
		{"isolator", "polarization_h",
			func(p *station.Parameters) {
				p.Wiring.Isolator[plant.PolarizationH] = false
				unread(p, "isolator_polarization_h")
			},
			[]string{"isolator_opened"}},
		{"final limits of an axis", "azimuth",
			func(p *station.Parameters) { p.Wiring.FinalLimit[plant.Azimuth] = false }, final},
		{"any final limit", "", func(p *station.Parameters) {
			p.Wiring.FinalLimit = [plant.AxisCount]bool{}
		}, append(slices.Clone(final), "override_key_left_on")},
	}
}

// What goes with each part that a station may lack: the faults about it on its own target,
// and none but those.
func TestFaults_NeedWhatTheyAreAbout(t *testing.T) {
	full := complete(t)
	before := refused(&full)
	for name, targets := range before {
		for _, target := range targets {
			if !strings.HasPrefix(target, "polarization") { // few counts, no brakes, one motor
				t.Errorf("the whole station refuses %s on %s", name, target)
			}
		}
	}
	for _, row := range append(missingMachines(), missingDevices()...) {
		set := complete(t)
		row.without(&set)
		after, gone := refused(&set), []string{}
		for name, targets := range after {
			for _, target := range targets {
				if slices.Contains(before[name], target) {
					continue
				}
				if gone = append(gone, name); !strings.HasPrefix(target, row.target) {
					t.Errorf("without %s: %s is refused on %s", row.part, name, target)
				}
			}
		}
		slices.Sort(gone)
		slices.Sort(row.faults)
		if gone = slices.Compact(gone); !slices.Equal(gone, row.faults) {
			t.Errorf("without %s: refused are %v, want %v", row.part, gone, row.faults)
		}
	}
}

// An isolator that stands in no enable chain is one all the same where it selects a safe
// function or the interlock unit reports it, and so is the override key by its function.
func TestFaults_ActOnContactsOfSafeFunctions(t *testing.T) {
	set := complete(t)
	unread(&set, "isolator_azimuth")
	unread(&set, "isolator_elevation")
	set.Wiring = station.Wiring{Safe: []station.SafeInput{
		{Axis: plant.Elevation, Contact: station.ContactIsolator},
		{Axis: plant.Azimuth, Contact: station.ContactOverride}}}
	for name, wants := range map[string]map[string]bool{
		"isolator_opened":      {"azimuth": false, "elevation": true, "polarization_v": true},
		"override_key_left_on": {"station": true},
	} {
		for target, want := range wants {
			if _, err := set.Fault(name, target, nil); (err == nil) != want {
				t.Errorf("%s %s: %v", name, target, err)
			}
		}
	}
}

// Figures that no such station can meet, and what is on the other end of an input's wire.
func TestFaults_RefuseWhatCannotBe(t *testing.T) {
	for _, row := range []struct{ name, target, parameter, value, want string }{
		{"external_torque", "azimuth", "torque", "5 MN m", "more than 10 times what its motors"},
		{"limit_chain_shifted", "elevation.upper", "inward", "44 deg", "beyond the middle"},
		{"wind_gusts", "station", "mean", "60 m/s", "built to survive"},
		{"gust_step", "station", "by", "60 m/s", "built to survive"},
		{"encoder_bit_stuck", "azimuth", "bit", "24", "have no bit 24"},
		{"input_stuck", "interlock", "input", "brake_feedback_polarization_h_1", "no brake"},
		{"input_stuck", "interlock", "input", "isolator_azimuth", "no isolator_azimuth"},
		{"input_stuck", "interlock", "input", "enabling_device", "no enabling device"},
		{"input_stuck", "interlock", "input", "override_key", "no final limit"},
		{"input_stuck", "interlock", "input", "final_limit_azimuth_lower", "no final limit"},
		{"input_stuck", "interlock", "input", "pin_elevation", "no stow pin"},
	} {
		set := complete(t)
		if row.name == "input_stuck" {
			set.Wiring, set.Interlock.EnablingDevice = station.Wiring{}, false
			unread(&set, "isolator_")
			set.Plant.Axes[plant.Elevation].Pin = plant.PinParameters{}
		}
		_, err := set.Fault(row.name, row.target, map[string]string{row.parameter: row.value})
		if err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%s of %s: %v, want %s", row.name, row.value, err, row.want)
		}
	}
	// A drive without any model of its voltage feels that there is none.
	set := complete(t)
	for m := range set.Drives {
		set.Drives[m].BaseRate = 0
	}
	if _, err := set.Fault("supply_dip", "station", map[string]string{"to": "0 %"}); err != nil {
		t.Error(err)
	}
}

// Nothing goes round the gate: not the options of a new station, nor a plan while it runs,
// nor a fault that another station made, nor one that nobody did.
func TestFaults_NothingGoesRoundTheGate(t *testing.T) {
	set := complete(t)
	withoutMast(&set)
	s, err := station.New(set, station.Options{})
	if err != nil {
		t.Fatal(err)
	}
	stranger, err := fault.Catalogue{{Name: "earthquake", On: kindOf(t, "supply_lost").On}}.
		New("earthquake", "station", nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range []fault.Fault{
		mustFault(t, "mast_spike", "mast", map[string]string{"by": "20 m/s"}),
		mustFault(t, "silence", "mast", nil), {}, stranger,
	} {
		entry := fault.Entry{Fault: f, Start: moment(ms)}
		if _, err := s.Plan(entry); err == nil {
			t.Errorf("%v is planned while the station runs", f)
		}
		if _, err := station.New(set, station.Options{Faults: []fault.Entry{entry}}); err == nil {
			t.Errorf("%v is taken by a new station", f)
		}
	}
	s.Advance(10 * ms)
	if s.Mast.Faults.Spike != 0 {
		t.Error("a mast that is not there exaggerates")
	}
}

// Every name of a target is that of one thing, whose indices are in the order of axes,
// motors, ends and channels.
func TestFaults_FindTheirTarget(t *testing.T) {
	device := func(role station.Role, index int) fault.Target {
		return fault.Target{Device: fault.Device{Role: string(role), Index: index}}
	}
	rows := map[string]map[string]fault.Target{
		"supply_lost":           {"station": {}},
		"limit_chain_shifted":   {"elevation.upper": {Axis: 1, End: 1}, "azimuth.lower": {}},
		"pin_inserted":          {"elevation": {Axis: 1}},
		"brake_worn":            {"elevation.1": {Motor: 2}, "polarization_v.1": {Motor: 5}},
		"encoder_frozen":        {"polarization_h": {Axis: 2}},
		"emergency_stop_welded": {"emergency_stop.2": {Channel: 1}},
		"relay_late":            {"interlock": device(station.RoleInterlock, 0)},
		"mast_silent":           {"mast": device(station.RoleMast, 0)},
		"silence": {"mast": device(station.RoleMast, 0),
			"elevation.encoder": device(station.RoleEncoder, 1)},
		"wrong_unit": {"elevation.2.drive": device(station.RoleDrive, 3)},
	}
	for name, targets := range rows {
		for target, want := range targets {
			want.Name = target
			f := mustFault(t, name, target, kindOf(t, name).Example())
			if f.Target() != want {
				t.Errorf("%s %s: got %+v, want %+v", name, target, f.Target(), want)
			}
		}
	}
	for _, k := range station.Faults() {
		seen := map[fault.Target]string{}
		for _, name := range k.On.Targets() {
			target := mustFault(t, k.Name, name, k.Example()).Target()
			target.Name = ""
			if other, twice := seen[target]; twice {
				t.Errorf("%s does the same to %s and %s", k.Name, name, other)
			}
			seen[target] = name
		}
	}
}

// Every kind stands by itself, and says what it and its parameters do.
func TestFaults_SayWhatTheyDo(t *testing.T) {
	names := map[string]bool{}
	for _, k := range station.Faults() {
		if names[k.Name] {
			t.Errorf("%s stands twice", k.Name)
		}
		names[k.Name] = true
		if k.Does == "" || strings.Trim(k.Name, "abcdefghijklmnopqrstuvwxyz_") != "" {
			t.Errorf("%q does %q", k.Name, k.Does)
		}
		f := mustFault(t, k.Name, k.On.Targets()[0], k.Example())
		for i, p := range k.Parameters {
			if s := f.Settings()[i]; p.Does == "" || s.Name != p.Name || s.Value == "" {
				t.Errorf("%s: parameter %+v printed as %v", k.Name, p, s)
			}
		}
	}
}
