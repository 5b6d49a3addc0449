package drive

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"haltmark/emulators/cia402"
)

func TestQuantities_EachHasOneName(t *testing.T) {
	names := newRig(t, demo()).d.Quantities()
	if len(names) != quantityCount {
		t.Fatalf("%d names for %d quantities", len(names), quantityCount)
	}
	sorted := slices.Sorted(slices.Values(names))
	if len(slices.Compact(sorted)) != quantityCount || slices.Contains(names, "") {
		t.Errorf("names are not unique: %v", names)
	}
}

// Read only are what CiA 402 marks ro (secondary) and what is an actual value.
func TestStore_ReadOnly(t *testing.T) {
	d := newRig(t, demo()).d
	readOnly := []int{Statusword, ModeDisplay, VelocityActual, VelocityDemand, PositionActual,
		TorqueActual, TorqueDemand, RatedTorque, ErrorCode, SupportedModes, PositionDemand,
		FollowingActual, LinkVoltage, DigitalInputs}
	for id := range quantityCount {
		err := d.Store(id, d.Load(id))
		if id == Controlword || id == QuickStopOption {
			continue
		}
		if errors.Is(err, ErrReadOnly) != slices.Contains(readOnly, id) {
			t.Errorf("%s: %v", d.Quantities()[id], err)
		}
	}
	if d.Store(-1, 0) != ErrObject || d.Store(quantityCount, 0) != ErrObject {
		t.Error("an object that is not there was stored")
	}
}

func TestStore_WhatIsStoredIsRead(t *testing.T) {
	d := newRig(t, demo()).d
	values := map[int]float64{
		Controlword: 0x06, Mode: 4, TargetVelocity: -0.03, TargetTorque: -250, TorqueOffset: 200,
		MaxTorque: 1500, QuickStopOption: 6, ShutdownOption: 1, DisableOption: 0, HaltOption: 2,
		FaultReactionOption: 0, AbortOption: 3, MaxVelocity: 0.05, ProfileAcceleration: 0.02,
		ProfileDeceleration: 0.03, QuickStopDeceleration: 0.04, TorqueSlope: 500,
		VelocityWindow: 0.001, VelocityWindowTime: 0.05, VelocityThreshold: 0.002,
		VelocityThresholdTime: 0.1, FollowingWindow: 0.01, FollowingTime: 0.2, PositionWindow: 0.02,
		PositionWindowTime: 0.3, MaxMotorSpeed: 0.04, DigitalOutputs: 0xFFFF0001, OutputMask: 0x10000,
	}
	for id, value := range values {
		if err := d.Store(id, value); err != nil {
			t.Errorf("%s = %g: %v", d.Quantities()[id], value, err)
		}
	}
	for id, value := range values {
		if got := d.Load(id); math.Abs(got-value) > 1e-12*math.Abs(value) {
			t.Errorf("%s reads %g, stored %g", d.Quantities()[id], got, value)
		}
	}
}

func TestStore_OutOfRangeChangesNothing(t *testing.T) {
	d := newRig(t, demo()).d
	bad := map[int][]float64{
		Controlword: {-1, 65536, 6.5}, TargetTorque: {32768, -32769}, MaxTorque: {-1},
		QuickStopOption: {9, -1, 1.5}, HaltOption: {0}, AbortOption: {4},
		ProfileAcceleration: {0, -1}, VelocityThreshold: {0}, VelocityThresholdTime: {-1, 66},
		VelocityWindowTime: {-0.001}, TorqueSlope: {-1}, MaxVelocity: {-1},
	}
	for id := range quantityCount {
		for _, value := range append(bad[id], math.NaN(), math.Inf(1), math.Inf(-1)) {
			before := d.Load(id)
			if d.Store(id, value) == nil {
				t.Errorf("%s = %g accepted", d.Quantities()[id], value)
			}
			if d.Load(id) != before {
				t.Errorf("%s = %g refused, but reads %g", d.Quantities()[id], value, d.Load(id))
			}
		}
	}
}

// Looking never changes a trajectory, however often and whenever it is done.
func TestLoad_ChangesNothing(t *testing.T) {
	p := demo()
	p.IntegralTime = 300 * time.Millisecond
	seen, unseen := newRig(t, p), newRig(t, p)
	drive := func(r *rig, look bool) {
		for i := range 12000 {
			switch i {
			case 100:
				r.enable()
				r.store(TorqueOffset, 200)
				r.store(TargetVelocity, deg)
			case 6000:
				r.send(0x02)
			}
			r.step()
			for id := 0; look && id < quantityCount; id++ {
				r.d.Load(id)
			}
		}
	}
	drive(seen, true)
	drive(unseen, false)
	seen.d.wasStale, unseen.d.wasStale = false, false
	if *seen.d != *unseen.d || seen.in != unseen.in {
		t.Errorf("read at every step: %+v\nnever read: %+v", *seen.d, *unseen.d)
	}
}

// Whatever is stored and whatever happens: no panic, finite torque within the
// peak, and a statusword that tells exactly the state.
func FuzzDrive(f *testing.F) {
	f.Add([]byte{0, 6, 0, 0, 15, 0, 4, 1, 0, 40, 0, 0, 0, 2, 0})
	f.Add([]byte{0, 6, 0, 0, 7, 0, 0, 15, 0, 0, 128, 0, 50, 1, 1, 0, 128, 0})
	f.Fuzz(func(t *testing.T, script []byte) {
		p := demo()
		p.STOEndsIn = STOFaults
		d := New(p)
		now, in := time.Duration(0), Input{Supplied: true}
		for ; len(script) >= 3; script = script[3:] {
			what, a, b := script[0], script[1], script[2]
			value := float64(int16(uint16(a) | uint16(b)<<8))
			switch {
			case int(what) < quantityCount+2:
				if what == byte(Controlword) || what == byte(TargetVelocity) {
					value = math.Abs(value)
				}
				_ = d.Store(int(what)-1, value/100)
				_ = d.Store(int(what), value)
			case what < 80:
				d.Trip(uint16(a) | uint16(b)<<8)
			case what < 120:
				in.STO, in.Supplied = a&1 != 0, a&2 == 0
				in.MotorRate = float64(int8(b))
			case what < 160:
				d.Faults = Faults{
					Feedback: Feedback{Frozen: a&1 != 0, Reversed: a&2 != 0}, IgnoreStop: a&4 != 0,
					IgnoreCommand: a&8 != 0, STODead: a&16 != 0, Stale: a&32 != 0,
					WatchdogDead: a&64 != 0, HeldTrip: uint16(a >> 7),
				}
			default:
				now += time.Duration(b) * h
			}
			d.Step(now, in)
			now += h
			state, ok := cia402.Decode(uint16(d.Load(Statusword)))
			if !ok || !d.Faults.Stale && state != d.State() {
				t.Fatalf("statusword %#04x in %v", uint16(d.Load(Statusword)), d.State())
			}
			if torque := d.Torque(); !(math.Abs(torque) <= 84e3) {
				t.Fatalf("torque %g", torque)
			}
			if on := d.PowerOn(); !on && d.Torque() != 0 || on != hasPower(d.State()) {
				t.Fatalf("power %v, torque %g in %v", on, d.Torque(), d.State())
			}
		}
	})
}

func hasPower(s cia402.State) bool { return s == oe || s == qs || s == fr }

func TestStep_AllocatesNothing(t *testing.T) {
	r := newRig(t, demo())
	r.turn(deg)
	d, now := r.d, r.now
	if n := testing.AllocsPerRun(1000, func() {
		now += h
		d.Step(now, r.in)
		_ = d.Store(Controlword, 0x0F)
		_ = d.Store(TargetVelocity, deg)
		_ = d.Load(Statusword)
	}); n != 0 {
		t.Errorf("%g allocations a step", n)
	}
}

func benchmark(b *testing.B, enabled bool) {
	d := New(demo())
	in := Input{Supplied: true}
	d.Step(0, in)
	if enabled {
		d.Faults.WatchdogDead = true
		_ = d.Store(Controlword, 0x06)
		_ = d.Store(Controlword, 0x0F)
		_ = d.Store(TargetVelocity, deg)
	}
	now := time.Duration(0)
	for b.Loop() {
		now += h
		d.Step(now, in)
		in.MotorRate = 0.3 * d.demand
	}
}

func BenchmarkStep_Enabled(b *testing.B) { benchmark(b, true) }

func BenchmarkStep_Off(b *testing.B) { benchmark(b, false) }
