package station_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
	"haltmark/emulators/encoder"
)

// face is what stands for one thing of the station, in words that can be compared.
type face map[string]string

// facesOf looks at everything a fault can reach, by the names of the targets.
func facesOf(r *rig) face {
	f, s, u := face{}, r.s, r.s.Interlock
	external := map[string]float64{}
	rec := r.rec.Record()
	for i, c := range rec.Channels {
		if name, ok := strings.CutSuffix(c.Name, ".external_torque"); ok {
			external[name] = rec.Values(i)[len(rec.At)-1]
		}
	}
	for a, axis := range plant.AxisNames {
		e := s.Encoders[a]
		f[axis] = fmt.Sprint(e.Faults, e.Load(0), e.Load(2), external[axis], e.Second.Faults,
			e.Load(encoder.SecondPosition), u.PanelInputs().Isolator[a])
		if a >= plant.MainAxes {
			continue
		}
		f[axis] += fmt.Sprint(u.Faults.PreLimitSwapped[a], u.Faults.FinalLimitSwapped[a],
			u.PanelInputs().Pin[a])
		limits := s.Limits(plant.Axis(a))
		for end, name := range plant.EndNames {
			f[axis+"."+name] = fmt.Sprint(u.Faults.PreLimit[a][end], u.Faults.FinalLimit[a][end],
				u.PreLimit[a][end], u.FinalLimit[a][end], limits.PreLimit[end],
				limits.FinalLimit[end], limits.Buffer[end], limits.Structure[end])
		}
	}
	p := &s.Plant.Faults
	for m, motor := range plant.MotorNames {
		d := s.Drives[m]
		f[motor] = fmt.Sprint(p.BrakeScale[m], p.BrakeLate[m], p.BrakeDrag[m], d.Faults,
			p.BrakeStuckOpen[m], p.BrakeStuckSet[m], s.Plant.State().BrakeSet[m],
			u.Faults.BrakeFeedback[m], d.State(), d.Ready(), d.Load(drive.VelocityActual),
			d.Load(drive.LinkVoltage))
	}
	hands := *u.PanelInputs()
	f["interlock"] = fmt.Sprint(u.Faults.Inputs, u.Faults.RelayLate)
	f["station"] = fmt.Sprint(hands.Hatch, hands.Ladder, hands.Mode, hands.Override, hands.Reset,
		u.Faults.Panel.EnablingReleased)
	f["mast"] = fmt.Sprint(s.Mast.Faults, string(s.Mast.Sentence(nil)))
	for _, d := range station.Devices() {
		if name := d.String(); d.Of() == "" && f[name] == "" {
			f[name] = fmt.Sprintf("%+v", s.Registers(d))
		}
	}
	for c, welded := range u.Faults.EmergencyStopWelded {
		f[fmt.Sprint("emergency_stop.", c+1)] = fmt.Sprint(welded, hands.EmergencyStop[c])
	}
	return f
}

// changed are the names at which two faces differ.
func changed(a, b face) []string {
	var names []string
	for name := range a {
		if a[name] != b[name] {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// mayChange reports whether a fault of this kind on this target may show at a name.
func mayChange(k fault.Kind, target, name string) bool {
	axis, _, _ := strings.Cut(target, ".")
	motor := name == axis+".1" || name == axis+".2"
	switch k.Name {
	case "supply_lost", "mains_lost", "supply_dip", "wind_constant", "wind_gusts", "gust_step":
		return true
	case "gear_changed", "final_limit_inverted", "final_limit_open", "isolator_opened":
		return motor || name == target // the last three take the axis's STO at once
	case "emergency_stop_pressed":
		return strings.HasPrefix(name, "emergency_stop")
	}
	return name == target
}

// moving is a rig whose axes all turn by then, with one fault that begins then.
func moving(t *testing.T, at place, plan ...fault.Entry) *rig {
	r := newRig(t, at, true, plan...)
	r.rate = [plant.AxisCount]float64{deg, deg, deg, deg}
	return r
}

// start is on no sample of the encoders and, one step on, on a row of the record.
const start = 1990*ms - step

// each calls do for every fault of the catalogue that stands in physics or in a device, on
// every target of the rig's station that it can act on. The polarization axes have neither
// brakes nor a second motor, and encoders of 16 bits: only there may one be refused.
func each(t *testing.T, do func(k fault.Kind, target string)) {
	set := newRig(t, middle(), false).set
	for _, k := range station.Faults() {
		for _, target := range k.On.Targets() {
			if k.Place == fault.PlaceWire {
				continue
			}
			_, err := set.Fault(k.Name, target, k.Example())
			switch {
			case err == nil:
				do(k, target)
			case !strings.HasPrefix(target, "polarization"):
				t.Errorf("%s %s: %v", k.Name, target, err)
			}
		}
	}
}

// A fault acts at its exact plant step, on its own target
// and on no other, and not before. Each is seen against a station without it.
func TestFaults_ActAtTheirStepOnTheirTarget(t *testing.T) {
	sound := moving(t, middle())
	sound.run(start)
	before := facesOf(sound)
	sound.run(start + 2*step)
	after := facesOf(sound)
	each(t, func(k fault.Kind, target string) {
		r := moving(t, middle(), fault.Entry{Start: moment(start),
			Fault: mustFault(t, k.Name, target, k.Example())})
		r.run(start)
		if early := changed(facesOf(r), before); len(early) > 0 {
			t.Errorf("%s %s shows before its time at %v", k.Name, target, early)
		}
		r.run(start + 2*step) // of which the second writes the row of its instant
		names := changed(facesOf(r), after)
		if len(names) == 0 {
			t.Errorf("%s %s does not show", k.Name, target)
		}
		for _, name := range names {
			if !mayChange(k, target, name) {
				t.Errorf("%s %s shows at %s", k.Name, target, name)
			}
		}
		if got := r.edgesOfFault(k.Name, target); !slices.Equal(got, []time.Duration{start}) {
			t.Errorf("%s %s is marked at %v, want %v", k.Name, target, got, start)
		}
	})
}

// edgesOfFault are the marks of a fault.
func (r *rig) edgesOfFault(name, target string) []time.Duration {
	var at []time.Duration
	for _, m := range r.rec.Marks() {
		if m.Kind == "fault" && m.Name == name && m.Axis == target {
			at = append(at, m.At)
		}
	}
	return at
}

// harmless faults touch nothing that moves while they stand in this rig, which
// brakes, trips and asks nothing meanwhile and closes no loop over the encoders.
var harmless = []string{"pre_limit_welded", "final_limit_welded", "pre_limit_inverted",
	"pre_limit_open", "pre_limits_swapped", "final_limits_swapped", "brake_late", "brake_worn",
	"brake_stuck_open", "encoder_offset", "encoder_frozen", "encoder_stepping",
	"encoder_drift", "encoder_alarm", "encoder_reversed", "encoder_eccentric", "encoder_late",
	"encoder_noise", "encoder_bit_stuck", "encoder_hung", "encoder_bad_data", "encoder_warning",
	"encoder_torn", "second_head_offset", "second_head_frozen", "second_head_alarm",
	"drive_watchdog_ignored", "drive_ignores_command", "drive_ignores_stop", "drive_sto_dead",
	"drive_status_stale", "drive_warning", "drive_offset_lost", "drive_offset_doubled",
	"emergency_stop_welded", "brake_feedback_stuck", "input_stuck", "relay_late",
	"enabling_released", "override_key_left_on", "reset_button_stuck"}

// Once a fault is over, its target is as it was; where it had no hand in the
// motion, the whole station is, to the bit.
func TestFaults_LeaveNoTrace(t *testing.T) {
	const until = 3 * time.Second
	sound := moving(t, middle())
	sound.run(until)
	want, state := facesOf(sound), *sound.s.Plant.State()
	each(t, func(k fault.Kind, target string) {
		r := moving(t, middle(), fault.Entry{Start: moment(start), Lasts: 333 * ms,
			Fault: mustFault(t, k.Name, target, k.Example())})
		r.run(until)
		if !r.healthy(sound) {
			t.Errorf("%s %s leaves something in the fields of its faults", k.Name, target)
		}
		if !slices.Contains(harmless, k.Name) {
			return
		}
		if names := changed(facesOf(r), want); len(names) > 0 {
			t.Errorf("%s %s leaves a trace at %v", k.Name, target, names)
		}
		if *r.s.Plant.State() != state {
			t.Errorf("%s %s leaves the plant at\n%+v, want\n%+v", k.Name, target,
				*r.s.Plant.State(), state)
		}
	})
}

// healthy reports whether every field of a fault is as in a sound station.
func (r *rig) healthy(sound *rig) bool {
	same := r.s.Plant.Faults == sound.s.Plant.Faults &&
		r.s.Interlock.Faults == sound.s.Interlock.Faults &&
		*r.limits() == *sound.limits() && r.external() == sound.external() &&
		r.s.Mast.Faults == sound.s.Mast.Faults
	for a := range r.s.Encoders {
		same = same && r.s.Encoders[a].Faults == sound.s.Encoders[a].Faults &&
			r.s.Encoders[a].Second.Faults == sound.s.Encoders[a].Second.Faults
	}
	for m := range r.s.Drives {
		a, b := r.s.Drives[m], sound.s.Drives[m]
		same = same && a.Faults == b.Faults && (a.Load(drive.VelocityActual) > 0) ==
			(r.s.Plant.State().MotorRate[m] > 0)
	}
	return same
}

func (r *rig) limits() *[plant.AxisCount]plant.LimitChain {
	var all [plant.AxisCount]plant.LimitChain
	for a := range all {
		all[a] = r.s.Limits(plant.Axis(a))
	}
	return &all
}

// external is the torque on the axes in the last row.
func (r *rig) external() [plant.AxisCount]float64 {
	var all [plant.AxisCount]float64
	rec := r.rec.Record()
	for i, c := range rec.Channels {
		if name, ok := strings.CutSuffix(c.Name, ".external_torque"); ok {
			all[slices.Index(plant.AxisNames[:], name)] = rec.Values(i)[len(rec.At)-1]
		}
	}
	return all
}

// Two of a kind that overlap: the end of one is not the end of the other, in
// either order, and the end of both is the end.
func TestFaults_OverlapOnOneTarget(t *testing.T) {
	for _, k := range station.Faults() {
		if k.Event || k.Place == fault.PlaceWire {
			continue
		}
		target := k.On.Targets()[0]
		f := mustFault(t, k.Name, target, k.Example())
		alone := moving(t, middle(), fault.Entry{Fault: f, Start: moment(start)})
		alone.run(start + 100*ms)
		for _, ends := range [][2]time.Duration{{50 * ms, 0}, {0, 50 * ms}} {
			r := moving(t, middle(), fault.Entry{Fault: f, Start: moment(start), Lasts: ends[0]},
				fault.Entry{Fault: f, Start: moment(start), Lasts: ends[1]})
			r.run(start + 100*ms)
			if r.s.Plant.Faults != alone.s.Plant.Faults ||
				r.s.Interlock.Faults != alone.s.Interlock.Faults ||
				r.s.Encoders[0].Faults != alone.s.Encoders[0].Faults ||
				r.s.Encoders[0].Second.Faults != alone.s.Encoders[0].Second.Faults ||
				r.s.Drives[0].Faults != alone.s.Drives[0].Faults ||
				r.s.Mast.Faults != alone.s.Mast.Faults ||
				*r.limits() != *alone.limits() || r.external() != alone.external() {
				t.Errorf("%s %s: the end of one of two ended both, or neither", k.Name, target)
			}
		}
	}
}

// What happens once does not happen again when another fault ends.
func TestFaults_AnEventHappensOnce(t *testing.T) {
	r := moving(t, middle(),
		fault.Entry{Fault: mustFault(t, "drive_trip", "azimuth.1", nil), Start: moment(start)},
		fault.Entry{Fault: mustFault(t, "hatch_opened", "station", nil), Start: moment(start),
			Lasts: 500 * ms})
	r.run(start + 100*ms)
	if r.s.Drives[0].State() != cia402.Fault {
		t.Fatalf("the drive has not tripped: %v", r.s.Drives[0].State())
	}
	r.store(0, drive.Controlword, 0x80) // fault reset
	r.s.Advance(start + 200*ms)
	if r.s.Drives[0].State() == cia402.Fault {
		t.Fatal("the fault is not reset")
	}
	r.s.Advance(start + 600*ms)
	if r.s.Drives[0].State() == cia402.Fault {
		t.Error("the drive trips again when another fault ends")
	}
}

// A controller may believe anything: ends that would cross, as three shifts add up, meet.
func TestFaults_ChainShiftedBeyondTheOtherEnd(t *testing.T) {
	for _, target := range targetsOf(t, "limit_chain_shifted") {
		inward := "180 deg"
		if strings.HasPrefix(target, "elevation") {
			inward = "40 deg"
		}
		shift := fault.Entry{Start: moment(0), Lasts: time.Second,
			Fault: mustFault(t, "limit_chain_shifted", target, map[string]string{"inward": inward})}
		r := newRig(t, middle(), true, shift, shift, shift)
		built := *r.limits()
		r.s.Advance(ms)
		for a, chain := range r.limits()[:plant.MainAxes] {
			if chain.Buffer[0] > chain.Buffer[1] || chain.Structure[0] > chain.Structure[1] {
				t.Errorf("%s: ends of %s cross: %+v", target, plant.AxisNames[a], chain)
			}
			if chain.Buffer[0] > built[a].Buffer[1] || chain.Buffer[1] < built[a].Buffer[0] {
				t.Errorf("%s: an end of %s is beyond the other: %+v", target, plant.AxisNames[a], chain)
			}
		}
		r.s.Advance(1001 * ms)
		if *r.limits() != built {
			t.Errorf("%s: the chain does not come back", target)
		}
	}
}

// Gear and direction change together, and each goes by itself.
func TestFaults_GearAndDirectionGoTogether(t *testing.T) {
	entry := func(name, target string, with map[string]string, lasts time.Duration) fault.Entry {
		return fault.Entry{Fault: mustFault(t, name, target, with), Start: moment(start),
			Lasts: lasts}
	}
	r := moving(t, middle(),
		entry("gear_changed", "azimuth", map[string]string{"ratio": "2"}, 0),
		entry("direction_changed", "azimuth.2", nil, 10*ms))
	feedback := func(m int) float64 { return r.s.Drives[m].Load(drive.PositionActual) }
	turned := func(m int) float64 { return r.s.Plant.State().MotorPosition[m] }
	for _, row := range []struct {
		at     time.Duration
		second float64
	}{{start + step, -2}, {start + 12*ms, 2}} {
		r.run(row.at - step)
		was := [2]float64{turned(0), turned(1)} // what the last step of it measures
		r.run(row.at)
		if feedback(0) != 2*was[0] || feedback(1) != row.second*was[1] {
			t.Errorf("at %v: feedback %g and %g, want %g and %g", row.at, feedback(0), feedback(1),
				2*was[0], row.second*was[1])
		}
	}
}
