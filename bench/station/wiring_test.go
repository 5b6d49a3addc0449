package station_test

import (
	"fmt"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/emulators/interlock"
)

// contacts is one row of the truth table; a name says what is so.
type contacts struct {
	relayOpen, finalOpen, overridden, isolated bool
	enabled, tripped, release                  bool
}

// rows are all combinations.
func rows() []contacts {
	var all []contacts
	for n := range 1 << 7 {
		on := func(bit int) bool { return n>>bit&1 == 1 }
		all = append(all, contacts{on(0), on(1), on(2), on(3), on(4), on(5), on(6)})
	}
	return all
}

// The enable chain and the brake coil, word by word. The station
// is brought into every combination by what people and faults do to it.
func TestWiring_TruthTable(t *testing.T) {
	const at = 400 * ms
	for _, row := range rows() {
		plan := []fault.Entry{}
		if row.finalOpen {
			plan = append(plan, fault.Entry{Start: moment(at),
				Fault: mustFault(t, "final_limit_inverted", "azimuth.upper", nil)})
		}
		if row.tripped {
			plan = append(plan, fault.Entry{Start: moment(at),
				Fault: mustFault(t, "drive_trip", "azimuth.1", nil)})
		}
		r := newRig(t, middle(), true, plan...)
		r.enable, r.brakes = false, false
		panel := &r.s.Interlock.Panel
		panel.Mode = interlock.Local
		panel.Override, panel.HandDirection = row.overridden, 1
		panel.Enabling = true
		panel.Isolator[plant.Azimuth] = row.isolated
		r.run(at - cycle)
		panel.EmergencyStop = [2]bool{row.relayOpen, row.relayOpen}
		until := at + 4*cycle
		if row.relayOpen {
			until += r.set.Interlock.RelayDelay + r.set.Interlock.SS1Time
		}
		r.feed(row, until)

		chain := !row.relayOpen && (!row.finalOpen || row.overridden) && !row.isolated
		sto := !(chain && row.enabled)
		if got := r.level("azimuth.1.sto"); got != sto {
			t.Errorf("%+v: STO demanded %v, want %v", row, got, sto)
		}
		ready := !sto && !row.tripped
		coil := chain && ready && row.release
		if got := r.level("azimuth.1.brake_coil"); got != coil {
			t.Errorf("%+v: brake coil powered %v, want %v", row, got, coil)
		}
	}
}

// feed keeps the outputs of one axis as the row says, without any drive led.
func (r *rig) feed(row contacts, until time.Duration) {
	for ; r.now <= until; r.now += cycle {
		r.s.Advance(r.now)
		r.write("enable_azimuth", row.enabled)
		r.write("brake_release_azimuth_1", row.release)
	}
	r.s.Advance(r.now)
}

// A drive that is not supplied, or is in fault, has no say in its
// neighbour's brake.
func TestWiring_BrakeCoilHangsOnItsOwnDrive(t *testing.T) {
	for _, name := range []string{"drive_supply_lost", "drive_trip"} {
		r := newRig(t, middle(), true, fault.Entry{
			Fault: mustFault(t, name, "azimuth.2", nil), Start: moment(time.Second)})
		r.run(time.Second)
		if !r.level("azimuth.1.brake_coil") || !r.level("azimuth.2.brake_coil") {
			t.Fatal("the coils are not powered before")
		}
		r.run(1500 * ms)
		if !r.level("azimuth.1.brake_coil") {
			t.Errorf("%s of azimuth.2 took the coil of azimuth.1", name)
		}
		if r.level("azimuth.2.brake_coil") {
			t.Errorf("%s of azimuth.2 left its coil powered", name)
		}
	}
}

// A final limit acts on its own axis's STO with no delay and no
// network; the relay and the other axes take no part.
func TestFinalLimit_ActsOnItsOwnAxisAtOnce(t *testing.T) {
	for axis, name := range plant.AxisNames[:plant.MainAxes] {
		for _, end := range plant.EndNames {
			at := time.Second + 7*step
			r := newRig(t, middle(), true, fault.Entry{Start: moment(at),
				Fault: mustFault(t, "final_limit_inverted", name+"."+end, nil)})
			r.run(1200 * ms)
			where := fmt.Sprintf("%s.final_limit.%s", name, end)
			if got := r.edges(where, 1); len(got) != 1 || got[0] != at {
				t.Fatalf("%s opened at %v, want %v", where, got, at)
			}
			for m, motor := range plant.MotorNames {
				opened := r.edges(motor+".sto", 1)
				last := opened[len(opened)-1]
				if int(plant.MotorAxis[m]) == axis && last != at {
					t.Errorf("%s: STO of %s at %v, want %v", where, motor, last, at)
				}
				if int(plant.MotorAxis[m]) != axis && last >= at {
					t.Errorf("%s: took STO of %s too", where, motor)
				}
			}
			if !r.level("relay.delayed") {
				t.Errorf("%s opened the relay", where)
			}
		}
	}
}

// The wiring is data: a contact that the station does not list is not there.
func TestWiring_IsWhatTheStationLists(t *testing.T) {
	set := demo(t)
	set.Wiring.FinalLimit[plant.Azimuth] = false
	set.Wiring.Isolator[plant.Elevation] = false
	r := rigOf(t, set)
	r.run(time.Second)
	// No fault of the catalogue can open what is in no chain.
	r.s.Interlock.Faults.FinalLimit[plant.Azimuth][plant.Upper] = interlock.SwitchWeldedOpen
	r.s.Interlock.Panel.Isolator = [plant.AxisCount]bool{true, true, true, true}
	r.s.Interlock.Panel.Isolator[plant.Azimuth] = false
	r.run(1100 * ms)
	for m, want := range [plant.MotorCount]bool{false, false, false, false, true, true} {
		if got := r.level(plant.MotorNames[m] + ".sto"); got != want {
			t.Errorf("%s: STO demanded %v, want %v", plant.MotorNames[m], got, want)
		}
	}
}
