package drive

import (
	"testing"
	"time"

	"haltmark/emulators/cia402"
)

// A drive that minds its brake drops its ready contact at the end of its own stop
// and keeps its torque until the brake has had its time (common practice).
func TestEndStop_BrakeClosesUnderTorque(t *testing.T) {
	p := demo()
	p.BrakeHold = 90 * time.Millisecond
	p.Watchdog = 50 * time.Millisecond
	d := New(p)
	const h = 250 * time.Microsecond
	in := Input{Supplied: true}
	now := time.Duration(0)
	run := func(span time.Duration) {
		for until := now + span; now < until; now += h {
			d.Step(now, in)
		}
	}
	run(p.SelfTest + h)
	for _, word := range []uint16{cia402.CommandShutdown, cia402.CommandEnableOperation} {
		if err := d.Store(Controlword, float64(word)); err != nil {
			t.Fatal(err)
		}
		run(h)
	}
	var dropped, off time.Duration
	for off == 0 && now < 5*time.Second {
		run(h)
		if dropped == 0 && !d.Ready() {
			dropped = now
			if !d.PowerOn() {
				t.Fatal("torque went with the ready contact")
			}
		}
		if !d.PowerOn() {
			off = now
		}
	}
	if got := off - dropped; got < p.BrakeHold || got > p.BrakeHold+2*h {
		t.Errorf("torque stayed %v after the ready contact, want %v", got, p.BrakeHold)
	}
}

// Once its own stop has ended, the drive keeps its brake closed until it has torque
// again: a contact that came back with the end of the stop would open the brake of
// an axis without torque (HZ-10).
func TestEndStop_BrakeStaysClosedAfterIt(t *testing.T) {
	p := demo()
	p.BrakeHold, p.SelfTest = 90*time.Millisecond, 0
	d := New(p)
	const h = 250 * time.Microsecond
	now := time.Duration(0)
	run := func(span time.Duration) {
		for until := now + span; now < until; now += h {
			d.Step(now, Input{Supplied: true})
		}
	}
	command := func(words ...uint16) {
		for _, word := range words {
			if err := d.Store(Controlword, float64(word)); err != nil {
				t.Fatal(err)
			}
			run(h)
		}
	}
	run(2 * h)
	command(cia402.CommandShutdown, cia402.CommandEnableOperation)
	if !d.PowerOn() || !d.Ready() {
		t.Fatal("not enabled")
	}
	command(cia402.CommandQuickStop)
	run(time.Second)
	if d.PowerOn() || d.Ready() {
		t.Errorf("after the stop: power %v, ready %v", d.PowerOn(), d.Ready())
	}
	command(cia402.CommandShutdown, cia402.CommandEnableOperation)
	if !d.PowerOn() || !d.Ready() {
		t.Errorf("enabled again: power %v, ready %v", d.PowerOn(), d.Ready())
	}
}
