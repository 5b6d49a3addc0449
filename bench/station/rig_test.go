package station_test

import (
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"haltmark/bench/config"
	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
	"haltmark/emulators/interlock"
)

const (
	deg   = math.Pi / 180
	ms    = time.Millisecond
	step  = station.DefaultStep
	cycle = 20 * ms
)

// rig is the demo station under the plainest of controllers: it writes to the
// devices without any wire, once a control cycle.
type rig struct {
	t   testing.TB
	s   *station.Station
	rec *record.Recorder // nil for none
	set station.Parameters

	rate   [plant.AxisCount]float64 // commanded, rad/s
	off    [plant.AxisCount]bool    // axes that are left alone
	enable bool                     // of every axis
	brakes bool                     // to be released
	now    time.Duration            // of the next control cycle
	look   time.Duration            // between looks; 0 for none
	chance *seed.Stream             // draws what is between looks instead; nil for none
	seen   float64                  // what looks saw, so that they are not idle
}

// place is where the axes start.
type place [plant.AxisCount]float64

func middle() place { return place{0, 45 * deg, 0, 0} }

// loadDemo reads the fixtures once.
var loadDemo = sync.OnceValues(func() (*config.Station, error) {
	return config.LoadStation("demo")
})

func demo(t testing.TB) station.Parameters {
	t.Helper()
	c, err := loadDemo()
	if err != nil {
		t.Fatal(err)
	}
	return c.Station()
}

func newRig(t testing.TB, at place, recorded bool, plan ...fault.Entry) *rig {
	t.Helper()
	r := &rig{t: t, set: demo(t), enable: true, brakes: true}
	// This controller has no integral that would hold against wind and unbalance.
	r.set.External = [plant.AxisCount]quantity.Torque{}
	for a := range r.set.Encoders {
		r.set.Encoders[a].SecondHead = true
	}
	if recorded {
		r.rec = record.NewRecorder(r.set.Channels(), nil)
	}
	var err error
	r.s, err = station.New(r.set, station.Options{Position: at, Faults: plan, Recorder: r.rec})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// run carries the rig to an instant, control cycle by control cycle.
func (r *rig) run(until time.Duration) {
	for ; r.now <= until; r.now += cycle {
		r.advance(r.now)
		r.control()
	}
	r.advance(until)
}

// advance looks at everything that can be looked at on its way.
func (r *rig) advance(to time.Duration) {
	looks := r.look > 0 || r.chance != nil
	for at := r.s.Now() + r.pause(); looks && at < to; at += r.pause() {
		r.s.Advance(at)
		r.lookAround()
	}
	r.s.Advance(to)
	if looks {
		r.lookAround()
	}
}

// pause is the span until the next look.
func (r *rig) pause() time.Duration {
	if r.chance != nil {
		return pause(r.chance)
	}
	return r.look
}

func (r *rig) lookAround() {
	for _, e := range r.s.Encoders {
		for id := range e.Quantities() {
			r.seen += e.Load(id)
		}
	}
	for _, d := range r.s.Drives {
		for id := range d.Quantities() {
			r.seen += d.Load(id)
		}
	}
	for id := range interlock.Quantities() {
		r.seen += r.s.Interlock.Load(id)
	}
	r.seen += r.s.Plant.State().Position[0]
}

// control is one control cycle: the interlock fed and reset, the drives led to
// operation enabled, their targets set.
func (r *rig) control() {
	u := r.s.Interlock
	u.Panel.Reset = r.now == 2*cycle
	for axis, name := range plant.AxisNames {
		if r.off[axis] {
			continue
		}
		r.write("enable_"+name, r.enable)
		first, count := plant.Axis(axis).Motors()
		for m := first; m < first+count; m++ {
			d := r.s.Drives[m]
			r.write("brake_release_"+r.motorBit(m), r.brakes && d.PowerOn())
			r.store(m, drive.TargetVelocity, r.rate[axis])
			r.store(m, drive.Controlword, float64(word(d.State())))
		}
	}
}

func (r *rig) motorBit(m int) string {
	b := []byte(plant.MotorNames[m])
	b[len(b)-2] = '_'
	return string(b)
}

// word leads a drive on, CiA 402 transitions 2, 3 and 4.
func word(s cia402.State) int {
	switch s {
	case cia402.SwitchOnDisabled:
		return 0x06
	case cia402.ReadyToSwitchOn:
		return 0x07
	}
	return 0x0F
}

var interlockQuantities = sync.OnceValue(interlock.Quantities)

func (r *rig) write(quantity string, on bool) {
	r.t.Helper()
	value := 0.0
	if on {
		value = 1
	}
	id := slices.Index(interlockQuantities(), quantity)
	if err := r.s.Interlock.Store(id, value); err != nil {
		r.t.Fatalf("%s: %v", quantity, err)
	}
}

func (r *rig) store(m, object int, value float64) {
	r.t.Helper()
	if err := r.s.Drives[m].Store(object, value); err != nil {
		r.t.Fatalf("%s: %v", plant.MotorNames[m], err)
	}
}

// edges are the instants at which a discrete channel took a value.
func (r *rig) edges(channel string, value int64) []time.Duration {
	var at []time.Duration
	for _, e := range r.rec.Record().Edges {
		if e.Channel == channel && e.Value == value {
			at = append(at, e.At)
		}
	}
	return at
}

// marks are the cause marks of a name.
func (r *rig) causes(name string) []record.Mark {
	var found []record.Mark
	for _, m := range r.rec.Marks() {
		if m.Kind == record.Cause && m.Name == name {
			found = append(found, m)
		}
	}
	return found
}

func (r *rig) level(channel string) bool {
	r.t.Helper()
	v, known := r.rec.Level(channel)
	if !known {
		r.t.Fatalf("no channel %s", channel)
	}
	return v == 1
}

func mustFault(t testing.TB, name, target string, parameters map[string]string) fault.Fault {
	t.Helper()
	f, err := station.Faults().New(name, target, parameters)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func kindOf(t testing.TB, name string) fault.Kind {
	t.Helper()
	k, err := station.Faults().Find(name)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// targetsOf is what a fault can be done to, by name.
func targetsOf(t testing.TB, name string) []string { return kindOf(t, name).On.Targets() }

// moment is an instant without a condition.
func moment(at time.Duration) fault.Moment { return fault.Moment{At: at} }
