package station_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/emulators/encoder"
)

// stretch starts something that time alone carries on.
type stretch struct {
	name   string
	servo  bool // azimuth has one unit for both motors
	led    bool // the drives are in operation
	rate   float64
	plan   []fault.Entry
	begins func(r *rig)
}

func stretches(t *testing.T) []stretch {
	entry := func(name, target string, with map[string]string) fault.Entry {
		return fault.Entry{Fault: mustFault(t, name, target, with), Start: moment(900 * ms)}
	}
	worn := map[string]string{"torque": "0 %"}
	frozen := []fault.Entry{{Fault: mustFault(t, "drive_feedback_frozen", "azimuth.1", nil),
		Start: moment(2050 * ms), Lasts: 2500*ms + step}}
	return []stretch{

		{name: "silence at rest, drives off"},
		{name: "silence at rest, drives on", led: true},
		{name: "silence in motion", led: true, rate: deg},
		{name: "an encoder that comes to scatter", led: true, rate: deg, plan: []fault.Entry{{
			Fault: mustFault(t, "encoder_noise", "azimuth", map[string]string{"within": "1 deg"}),
			Start: moment(2530 * ms)}}},
		{name: "silence in motion of a servo unit", servo: true, led: true, rate: deg},
		{name: "emergency stop in motion of a servo unit", servo: true, led: true, rate: deg,
			begins: func(r *rig) { r.s.Interlock.Panel.EmergencyStop = [2]bool{true, true} }},
		{name: "wind on worn brakes of a servo unit", servo: true, led: true, plan: []fault.Entry{
			entry("brake_worn", "azimuth.1", worn), entry("brake_worn", "azimuth.2", worn),
			entry("external_torque", "azimuth", map[string]string{"torque": "30 kN m"})}},
		{name: "a motor's feedback dies in a servo unit", servo: true, led: true, rate: 2 * deg,
			plan: []fault.Entry{{Fault: mustFault(t, "drive_feedback_dead", "azimuth.2", nil),
				Start: moment(2050 * ms)}}},
		{name: "feedback freezes in motion and is sound again", led: true, rate: deg,
			plan: frozen},
		{name: "feedback of a servo unit freezes in motion and is sound again", servo: true,
			led: true, rate: deg, plan: frozen},
		{name: "a free motor of a servo unit that is off", servo: true, plan: []fault.Entry{
			entry("brake_stuck_open", "azimuth.2", nil),
			entry("external_torque", "azimuth", map[string]string{"torque": "30 kN m"})}},
		{name: "emergency stop in motion", led: true, rate: deg,
			begins: func(r *rig) { r.s.Interlock.Panel.EmergencyStop = [2]bool{true, true} }},
		{name: "one channel of it", begins: func(r *rig) {
			r.s.Interlock.Panel.EmergencyStop[0] = true
		}},
		{name: "a brake released, drives off", begins: func(r *rig) {
			r.write("brake_release_azimuth_1", true)
		}},
		{name: "wind on worn brakes", led: true, plan: []fault.Entry{
			entry("brake_worn", "azimuth.1", worn), entry("brake_worn", "azimuth.2", worn),
			entry("external_torque", "azimuth", map[string]string{"torque": "30 kN m"})}},
		{name: "late brakes in the wind", led: true, plan: []fault.Entry{
			entry("brake_late", "azimuth.1", map[string]string{"by": "2 s"}),
			entry("brake_late", "azimuth.2", map[string]string{"by": "2 s"}),
			entry("external_torque", "azimuth", map[string]string{"torque": "30 kN m"})}},
	}
}

// Between two looks the station leaves out what cannot change. Here nobody looks
// for a while; seen at every step, it must have gone the same way to the bit.
func TestAdvance_LongStretchesAreThoseOfEveryStep(t *testing.T) {
	for _, row := range stretches(t) {
		play := func(look time.Duration) *rig {
			r := newRig(t, middle(), true, row.plan...)
			if row.servo {
				r = rigOf(t, withServo(t), row.plan...)
			}
			r.rate[plant.Azimuth] = row.rate
			if row.led {
				r.run(2 * time.Second)
			} else {
				r.feed(contacts{enabled: true}, 20*ms)
				r.s.Interlock.Panel.Reset = true
				r.feed(contacts{enabled: true}, 500*ms)
			}
			if row.begins != nil {
				row.begins(r)
			}
			r.look = look
			return r
		}
		once, stepped := play(0), play(step)
		for at := once.s.Now(); at <= 6*time.Second; at += 70 * ms {
			once.advance(at)
			stepped.advance(at)
			if got, want := once.told(), stepped.told(); !slices.Equal(got, want) {
				t.Fatalf("%s: at %v the devices tell\n%v, step by step\n%v", row.name, at, got, want)
			}
		}
		if *once.s.Plant.State() != *stepped.s.Plant.State() {
			t.Errorf("%s: state\n%+v, step by step\n%+v", row.name, *once.s.Plant.State(),
				*stepped.s.Plant.State())
		}
		if once.rec.Record().Hash() != stepped.rec.Record().Hash() {
			t.Errorf("%s: another record than step by step", row.name)
		}
		if once.level("relay.delayed") {
			t.Errorf("%s: the chain has not opened; nothing is shown by that", row.name)
		}
	}
}

// told is everything that drives and encoders tell.
func (r *rig) told() []float64 {
	var all []float64
	for _, e := range r.s.Encoders {
		for id := range e.Quantities() {
			all = append(all, e.Load(id))
		}
	}
	for _, d := range r.s.Drives {
		for id := range d.Quantities() {
			all = append(all, d.Load(id))
		}
	}
	return all
}

// Faults act at exact plant steps, also between the samples of an
// encoder.
func TestFaults_EncoderTellsAtItsStep(t *testing.T) {
	for object, f := range map[int]fault.Fault{
		encoder.PositionValue: mustFault(t, "encoder_offset", "azimuth",
			map[string]string{"by": "5 deg"}),
		encoder.Alarms: mustFault(t, "encoder_alarm", "azimuth", nil),
	} {
		sound := newRig(t, middle(), false)
		r := newRig(t, middle(), false, fault.Entry{Fault: f, Start: moment(start)})
		for _, x := range []*rig{sound, r} {
			x.run(start)
		}
		e := r.s.Encoders[plant.Azimuth]
		if got, want := e.Load(object), sound.s.Encoders[0].Load(object); got != want {
			t.Errorf("%v: tells %g before its time, want %g", f, got, want)
		}
		r.run(start + step)
		if got := e.Load(object); got == sound.s.Encoders[0].Load(object) {
			t.Errorf("%v: tells %g at its step still", f, got)
		}
	}
}

// A buffer is told as touched, and as free again, at the steps at which it is.
func TestBuffer_EdgesAtTheirSteps(t *testing.T) {
	limits := demo(t).Plant.Axes[plant.Azimuth].Limits
	at := middle()
	at[plant.Azimuth] = float64(limits.Buffer[plant.Upper]) - 1.5*deg
	r := newRig(t, at, true, fault.Entry{
		Fault: mustFault(t, "final_limit_welded", "azimuth.upper", nil)})
	r.rate[plant.Azimuth] = deg
	var touched, free []time.Duration
	was := false
	for now := time.Duration(0); now < 8*time.Second; now += step {
		if now > 4*time.Second {
			r.rate[plant.Azimuth] = -deg
		}
		r.run(now)
		in := r.s.Plant.State().BufferDepth[plant.Azimuth] > 0
		if in && !was {
			touched = append(touched, now)
		}
		if !in && was {
			free = append(free, now)
		}
		was = in
	}
	if len(touched) == 0 || len(free) == 0 {
		t.Fatal("the buffer was not touched and left; nothing is shown by that")
	}
	if got := r.edges("azimuth.buffer.upper", 1); !slices.Equal(got, touched) {
		t.Errorf("touched at %v, want %v", got, touched)
	}
	if got := r.edges("azimuth.buffer.upper", 0)[1:]; !slices.Equal(got, free) {
		t.Errorf("free again at %v, want %v", got, free)
	}
	if got := r.edges("azimuth.buffer.lower", 1); len(got) > 0 {
		t.Errorf("the other buffer is told as touched at %v", got)
	}
}

// A buffer that is touched and left, and a condition that comes to hold, between
// two looks stand at the steps at which they do when every step is looked at.
func TestAdvance_WhatMotionMeetsStandsAtItsStep(t *testing.T) {
	at := middle()
	at[plant.Azimuth] = float64(demo(t).Plant.Axes[plant.Azimuth].Limits.Buffer[plant.Upper]) -
		1.5*deg
	play := func(look time.Duration) (r *rig, held []time.Duration) {
		r = newRig(t, at, true, fault.Entry{
			Fault: mustFault(t, "final_limit_welded", "azimuth.upper", nil)})
		r.look, r.rate[plant.Azimuth] = look, deg
		r.run(2500 * ms)
		for range 2 {
			from := r.s.Plant.State().Position[plant.Azimuth]
			r.s.When(func() bool {
				return math.Abs(r.s.Plant.State().Position[plant.Azimuth]-from) > 0.3*deg
			}, func(now time.Duration) { held = append(held, now) })
			r.run(r.now + 2*time.Second)
			r.rate[plant.Azimuth] = -deg
		}
		r.run(r.now + 2*time.Second)
		return r, held
	}
	want, heldWant := play(step)
	got, held := play(0)
	if *got.s.Plant.State() != *want.s.Plant.State() {
		t.Errorf("state\n%+v, step by step\n%+v", *got.s.Plant.State(), *want.s.Plant.State())
	}
	if got.rec.Record().Hash() != want.rec.Record().Hash() {
		t.Error("another record than step by step")
	}
	if !slices.Equal(held, heldWant) || len(held) != 2 {
		t.Errorf("conditions held at %v, step by step at %v", held, heldWant)
	}
	if len(got.edges("azimuth.buffer.upper", 1)) == 0 || got.level("azimuth.buffer.upper") {
		t.Error("the buffer was not touched and left; nothing is shown by that")
	}
}
