package station_test

import (
	"fmt"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/seed"
)

// eventful has motion, stops, torque that comes and goes, and faults of each kind
// that reaches into the motion, with rests between them.
func eventful(t testing.TB, recorded bool) *rig {
	at := func(name, target string, from, lasts time.Duration, with map[string]string) fault.Entry {
		return fault.Entry{Fault: mustFault(t, name, target, with), Start: moment(from), Lasts: lasts}
	}
	return newRig(t, middle(), recorded,
		at("gear_changed", "azimuth", 1500*ms+step, 33*ms, map[string]string{"ratio": "1.2"}),
		at("external_torque", "elevation", 1800*ms, 7*ms, map[string]string{"torque": "30 kN m"}),
		at("brake_late", "azimuth.2", 0, 0, nil),
		at("encoder_drift", "azimuth", 1700*ms, 0, map[string]string{"rate": "0.8 deg/s"}),
		at("drive_trip", "polarization_h.1", 2*time.Second+3*step, 0, nil),
		at("final_limit_inverted", "elevation.upper", 2500*ms+step, 100*ms, nil),
	)
}

// play is the eventful run with looks at a pace.
func play(t testing.TB, recorded bool, look time.Duration) *rig {
	r := eventful(t, recorded)
	r.look = look
	return r.playOut()
}

func (r *rig) playOut() *rig {
	r.run(time.Second)
	r.rate = [plant.AxisCount]float64{2 * deg, 1 * deg, deg, -deg}
	r.run(2300 * ms)
	r.s.Interlock.Panel.Hatch = true // stops in motion only
	r.run(3 * time.Second)
	r.rate = [plant.AxisCount]float64{}
	r.enable, r.brakes = false, false
	r.run(5 * time.Second)
	return r
}

// Looking never changes a trajectory, at any rate and at any instant. Looks at every plant
// step also make every step an ordinary one, so that this shows as well that what is left
// out between looks changes nothing.
func TestLooking_ChangesNothing(t *testing.T) {
	reference := play(t, true, 0)
	want := reference.rec.Record().Hash()
	state := *reference.s.Plant.State()
	if travel := state.Position[plant.Azimuth]; travel < 0.5*deg {
		t.Fatalf("azimuth came %g rad far; nothing is shown by that", travel)
	}
	same := func(how string, r *rig) {
		if *r.s.Plant.State() != state {
			t.Errorf("looked at %s: state\n%+v, want\n%+v", how, *r.s.Plant.State(), state)
		}
		if r.rec.Record().Hash() != want {
			t.Errorf("looked at %s: another record", how)
		}
		if r.seen == 0 {
			t.Errorf("looked at %s: nothing seen", how)
		}
	}
	for _, look := range []time.Duration{50 * time.Microsecond, step, 700 * time.Microsecond,
		ms, 3300 * time.Microsecond, 7 * ms, 19 * ms} {
		same(fmt.Sprint("each ", look), play(t, true, look))
	}
	for n := range seed.Seed(4) {
		r := eventful(t, true)
		r.chance = n.Stream("looks")
		same(fmt.Sprint("by chance, seed ", n), r.playOut())
	}
}

// A hatch that opens in motion trips the chain: it must do so whether anybody
// records or not.
func TestRecording_ChangesNothing(t *testing.T) {
	with, without := play(t, true, 0), play(t, false, 0)
	if *with.s.Plant.State() != *without.s.Plant.State() {
		t.Errorf("state without a record\n%+v, with one\n%+v", *without.s.Plant.State(),
			*with.s.Plant.State())
	}
	if without.s.Interlock.DelayedContact {
		t.Error("the hatch that opened in motion did not open the stop chain")
	}
	for a := range plant.Axis(plant.AxisCount) {
		if with.s.Still(a) != without.s.Still(a) {
			t.Errorf("%v: standstill %v without a record", a, without.s.Still(a))
		}
	}
}

// The plant exists only at multiples of its step.
func TestAdvance_StandsAtWholeSteps(t *testing.T) {
	r := newRig(t, middle(), false)
	for _, row := range []struct{ to, want time.Duration }{
		{0, 0}, {step - 1, 0}, {step, step}, {10*step + 1, 10 * step}, {3 * step, 10 * step},
		{11*step - 1, 10 * step}, {11 * step, 11 * step},
	} {
		r.s.Advance(row.to)
		if got := r.s.Now(); got != row.want {
			t.Errorf("advanced to %v it stands at %v, want %v", row.to, got, row.want)
		}
	}
}

func TestAdvance_AllocatesNothingInMotion(t *testing.T) {
	r := newRig(t, middle(), false)
	r.rate[plant.Azimuth] = deg
	r.run(time.Second)
	at := r.s.Now()
	if n := testing.AllocsPerRun(100, func() {
		at += ms
		r.s.Advance(at)
	}); n != 0 {
		t.Errorf("%v allocations a millisecond", n)
	}
}
