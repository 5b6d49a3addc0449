package interlock

import (
	"slices"
	"testing"
	"time"
)

const (
	step = 250 * time.Microsecond
	ms   = time.Millisecond
)

// demo is the interlock of fixtures/stations/demo.yaml.
func demo() Parameters {
	return Parameters{RelayDelay: 20 * ms, SS1Time: 1900 * ms, Watchdog: 200 * ms,
		Discrepancy: 500 * ms, Hatch: StopsInMotion, Ladder: StopsInMotion,
		Pin: StopsInMotion, ModeChange: StopsInMotion}
}

func id(t testing.TB, name string) int {
	t.Helper()
	i := slices.Index(Quantities(), name)
	if i < 0 {
		t.Fatalf("no quantity %q", name)
	}
	return i
}

// rig is a unit with a controller that writes all its outputs every 20 ms.
type rig struct {
	*Unit
	t     *testing.T
	in    Input
	now   time.Duration
	alive bool
	wants map[string]float64
}

func newRig(t *testing.T, p Parameters) *rig {
	t.Helper()
	u, err := New(p)
	if err != nil {
		t.Fatal(err)
	}
	r := &rig{Unit: u, t: t, alive: true, wants: map[string]float64{"enable_azimuth": 1,
		"brake_release_azimuth_1": 1, "horn": 1}}
	return r
}

// ready is a rig whose relay has been reset and whose outputs are on.
func ready(t *testing.T, p Parameters) *rig {
	r := newRig(t, p)
	r.run(50 * ms)
	r.press()
	if !r.DelayedContact || !r.Enable[0] || !r.BrakeRelease[0] || !r.Horn {
		t.Fatal("the rig did not come up")
	}
	return r
}

func (r *rig) step() {
	if r.alive && r.now%(20*ms) == 0 {
		for _, name := range []string{"enable_azimuth", "brake_release_azimuth_1", "horn"} {
			r.store(name, r.wants[name])
		}
	}
	r.now += step
	r.Step(r.now, &r.in)
}

func (r *rig) store(name string, value float64) {
	r.t.Helper()
	if err := r.Store(id(r.t, name), value); err != nil {
		r.t.Fatal(err)
	}
}

func (r *rig) load(name string) float64 { return r.Load(id(r.t, name)) }

func (r *rig) run(span time.Duration) {
	for end := r.now + span; r.now < end; {
		r.step()
	}
}

// until steps until the condition holds and returns the time it took.
func (r *rig) until(what string, holds func() bool) time.Duration {
	r.t.Helper()
	for from := r.now; r.now < from+10*time.Second; {
		r.step()
		if holds() {
			return r.now - from
		}
	}
	r.t.Fatalf("never: %s", what)
	return 0
}

// press pushes the reset button and lets it go.
func (r *rig) press() {
	r.Panel.Reset = true
	r.run(100 * ms)
	r.Panel.Reset = false
	r.run(20 * ms)
}

func (r *rig) want(what string, got, want bool) {
	r.t.Helper()
	if got != want {
		r.t.Errorf("at %v: %s is %v, want %v", r.now, what, got, want)
	}
}

// between tells that a span is no shorter than the limit and no more than one
// step longer: the cause acts in the step after it.
func (r *rig) exactly(what string, got, want time.Duration) {
	r.t.Helper()
	if got < want || got > want+step {
		r.t.Errorf("%s after %v, want %v", what, got, want)
	}
}

func (r *rig) emergencyStop(pressed bool) {
	r.Panel.EmergencyStop = [2]bool{pressed, pressed}
}
