package station_test

import (
	"slices"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/emulators/interlock"
)

// begins plans a fault at start, for good.
func begins(t *testing.T, name, target string, pairs ...string) fault.Entry {
	set := map[string]string{}
	for i := 0; i < len(pairs); i += 2 {
		set[pairs[i]] = pairs[i+1]
	}
	return fault.Entry{Start: moment(start), Fault: mustFault(t, name, target, set)}
}

func alone(t *testing.T, name, target string, pairs ...string) []fault.Entry {
	return []fault.Entry{begins(t, name, target, pairs...)}
}

// What follows from a fault, on which channel and how long after: HZ-02,
// HZ-03, HZ-16, HZ-18 of fixtures/hazards.yaml. The relay takes 20 ms, the discrepancy 0.5 s,
// STO 20 ms (fixtures/stations/demo.yaml).
func TestFaults_Consequences(t *testing.T) {
	type row struct {
		faults  []fault.Entry
		channel string
		level   int64
		after   time.Duration
	}
	hatch := begins(t, "hatch_opened", "station")
	isolator := begins(t, "isolator_opened", "azimuth")
	for name, row := range map[string]row{
		"hatch":    {[]fault.Entry{hatch}, "relay.instant", 0, 20 * ms},
		"ladder":   {alone(t, "ladder_opened", "station"), "relay.instant", 0, 20 * ms},
		"pin":      {alone(t, "pin_inserted", "elevation"), "relay.instant", 0, 20 * ms},
		"stop":     {alone(t, "emergency_stop_pressed", "station"), "relay.channel_2", 0, 0},
		"isolator": {[]fault.Entry{isolator}, "azimuth.1.sto", 1, 0},
		"late relay": {[]fault.Entry{hatch, begins(t, "relay_late", "interlock")},
			"relay.instant", 0, 220 * ms},
		"one channel": {alone(t, "emergency_stop_one_channel", "emergency_stop.1"),
			"relay.instant", 0, 20 * ms},
		"discrepancy": {alone(t, "emergency_stop_one_channel", "emergency_stop.2"),
			"interlock.discrepancy", 1, 500 * ms},
		"mode": {alone(t, "mode_turned", "station", "mode", "maintenance"),
			"interlock.mode", int64(interlock.Maintenance), 0},
		"key":         {alone(t, "override_key_left_on", "station"), "interlock.override", 1, 0},
		"stuck brake": {alone(t, "brake_stuck_set", "azimuth.1"), "azimuth.1.brake_set", 1, step},
	} {
		r := moving(t, middle(), row.faults...)
		r.run(start + 700*ms)
		at := r.edges(row.channel, row.level)
		at = slices.DeleteFunc(at, func(t time.Duration) bool { return t < start })
		if len(at) == 0 || at[0] < start+row.after || at[0] > start+row.after+step {
			t.Errorf("%s: %s is %d at %v, want %v", name, row.channel, row.level, at, start+row.after)
		}
	}
}

// Two faults at once, of which one hides the other: no safe torque off, no brake.
func TestFaults_DeadProtections(t *testing.T) {
	isolator := begins(t, "isolator_opened", "azimuth")
	for name, row := range map[string]struct {
		hides   fault.Entry
		channel string
		level   bool
	}{
		"dead STO":   {begins(t, "drive_sto_dead", "azimuth.1"), "azimuth.1.torque_on", true},
		"sound STO":  {begins(t, "drive_warning", "azimuth.1"), "azimuth.1.torque_on", false},
		"open brake": {begins(t, "brake_stuck_open", "azimuth.2"), "azimuth.2.brake_set", false},
		"good brake": {begins(t, "drive_warning", "azimuth.1"), "azimuth.2.brake_set", true},
	} {
		r := moving(t, middle(), isolator, row.hides)
		r.run(start + 300*ms)
		if got := r.level(row.channel); got != row.level {
			t.Errorf("%s: %s is %v", name, row.channel, got)
		}
	}
}

// Exchanged switches tell of the wrong end, and only of that one.
func TestFaults_SwappedSwitches(t *testing.T) {
	limits := demo(t).Plant.Axes[plant.Azimuth].Limits
	outside := place{float64(limits.PreLimit[plant.Upper]) + 0.1*deg, 45 * deg, 0, 0}
	swapped := fault.Entry{Fault: mustFault(t, "pre_limits_swapped", "azimuth", nil)}
	for end, plan := range map[int][]fault.Entry{plant.Upper: nil, plant.Lower: {swapped}} {
		r := newRig(t, outside, true, plan...)
		r.run(100 * ms)
		for k, name := range plant.EndNames {
			if got := r.level("azimuth.pre_limit." + name); got != (k == end) {
				t.Errorf("%d faults: the %s switch is open: %v", len(plan), name, got)
			}
		}
	}
}

// The unit reports what it is stuck at, and its relay is not misled.
func TestFaults_StuckInput(t *testing.T) {
	r := moving(t, middle(), begins(t, "hatch_opened", "station"),
		begins(t, "input_stuck", "interlock", "input", "hatch", "at", "0"))
	r.run(start + 100*ms)
	hatch := slices.Index(interlock.Quantities(), "hatch")
	if r.s.Interlock.Load(hatch) != 0 || r.level("relay.instant") {
		t.Error("the stuck input tells of the hatch, or the relay does not see it")
	}
}

// With the mains gone the drives have no torque and the interlock unit lives.
func TestFaults_MainsLost(t *testing.T) {
	r := moving(t, middle(), begins(t, "mains_lost", "station"))
	r.run(start + 2*time.Second)
	for _, motor := range plant.MotorNames {
		if r.level(motor + ".torque_on") {
			t.Errorf("%s has torque", motor)
		}
	}
	if !r.level("relay.delayed") {
		t.Error("the relay has dropped")
	}
}

// A position of 32 bits that is read over Modbus while it changes: two registers of
// 16 bits (Modbus Application Protocol V1.1b3, 4.3), the upper one still old.
func TestFaults_TornOnTheWire(t *testing.T) {
	w := serve(t, demo(t),
		fault.Entry{Fault: mustFault(t, "encoder_torn", "azimuth", map[string]string{"by": "50 ms"})},
		fault.Entry{Start: moment(100 * ms), Fault: mustFault(t, "encoder_offset", "azimuth",
			map[string]string{"by": "7 deg"})})
	read := func(at time.Duration) uint32 {
		w.clock.Run(at, nil)
		w.s.Advance(at)
		c := w.dial(w.s.Seats()[0], []string{"position_value"}, nil)
		if err := c.exchange(10 * ms); err != nil {
			t.Fatal(err)
		}
		return uint32(c.Value(0))
	}
	before, torn, after := read(90*ms), read(110*ms), read(300*ms)
	if before>>16 == after>>16 || before&0xFFFF == after&0xFFFF {
		t.Fatalf("%#x and %#x do not differ in both words: nothing is tested", before, after)
	}
	if want := before&^0xFFFF | after&0xFFFF; torn != want {
		t.Errorf("read %#x, want %#x of %#x and %#x", torn, want, before, after)
	}
}
