package station_test

import (
	"bytes"
	"fmt"
	"slices"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/record"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
	"haltmark/emulators/encoder"
)

// trial is one station under one plan, moved by a script and looked at by chance.
type trial struct {
	set  station.Parameters
	at   place
	off  [plant.AxisCount]bool // axes whose drives stay off
	plan []fault.Entry
	seed seed.Seed
	step time.Duration               // of the plant; 0 for the usual one
	with func(p *station.Parameters) // changes them; nil for none
}

const trialLength = 4500 * ms

// played is a trial that was carried through, and what each look read.
type played struct {
	s     *station.Station
	rec   *record.Recorder
	words *words
	looks [][]byte
	steps *int64          // ordinary ones
	stops []time.Duration // instants that it is advanced to beside
}

// assemble makes the station of a trial, with fast-forward or without.
func (x *trial) assemble(t testing.TB, every bool, stops []time.Duration) *played {
	t.Helper()
	var err error
	p := &played{rec: record.NewRecorder(x.set.Channels(), nil), stops: stops}
	p.s, err = station.New(x.set, station.Options{Position: x.at, Faults: x.plan, Recorder: p.rec,
		Seed: x.seed, Step: x.step})
	if err != nil {
		t.Fatal(err)
	}
	if every {
		station.TakeEveryStep(p.s)
	}
	p.steps = station.CountOrdinarySteps(p.s)
	p.words = wordsOf(t, p.s)
	return p
}

// advance goes on to an instant by way of its stops.
func (p *played) advance(to time.Duration) {
	for len(p.stops) > 0 && p.stops[0] < to {
		p.s.Advance(p.stops[0])
		p.stops = p.stops[1:]
	}
	p.s.Advance(to)
}

func (p *played) look(now time.Duration) {
	p.advance(now)
	p.looks = append(p.looks, p.words.read(nil))
}

// play carries a trial through.
func (x *trial) play(t testing.TB, every bool, stops []time.Duration) *played {
	t.Helper()
	p := x.assemble(t, every, stops)
	r := &rig{t: t, s: p.s, rec: p.rec, set: x.set, enable: true, brakes: true, off: x.off}
	script, chance := x.seed.Stream("script"), x.seed.Stream("looks")
	for at := time.Duration(0); r.now < trialLength; {
		for ; at < r.now; at += pause(chance) {
			p.look(at)
		}
		p.advance(r.now)
		r.script(script)
		r.now += cycle
		if script.IntN(20) == 0 { // late for once
			r.now += time.Duration(script.Float64() * float64(350*ms))
		}
	}
	p.look(trialLength)
	return p
}

// pause is how long nobody looks: mostly milliseconds, now and then much longer.
func pause(chance *seed.Stream) time.Duration {
	most := 8 * ms
	if chance.IntN(10) == 0 {
		most = 400 * ms
	}
	return time.Duration(chance.Float64() * float64(most))
}

// script is a control cycle: axes set out, stop and are let go, and now and then a drive
// is told something else.
func (r *rig) script(chance *seed.Stream) {
	switch {
	case r.now > 3200*ms:
		r.rate, r.enable, r.brakes = [plant.AxisCount]float64{}, false, false
	case r.now > 2400*ms:
		r.rate = [plant.AxisCount]float64{}
	case r.now > 800*ms:
		for a, full := range r.set.FullRate {
			r.rate[a] = min(0.6*float64(full), deg)
		}
	}
	r.control()
	r.s.Interlock.Panel.Reset = r.now == 2*cycle || r.now > 500*ms && chance.IntN(25) == 0
	m := chance.IntN(plant.MotorCount)
	switch chance.IntN(120) {
	case 0:
		r.store(m, drive.Controlword, float64(cia402.CommandQuickStop))
	case 1:
		r.store(m, drive.Controlword, float64(cia402.CommandEnableOperation|cia402.BitHalt))
	case 2:
		r.store(m, drive.TorqueOffset, 100)
	case 3:
		r.store(m, drive.OutputMask, 1)
		r.store(m, drive.DigitalOutputs, 1)
	case 4:
		r.store(m, drive.DigitalOutputs, 0)
	case 5, 6, 7, 8:
		r.store(m, drive.Controlword, float64(cia402.BitFaultReset))
	case 9, 10, 11: // straight from disabled into operation
		r.store(m, drive.Controlword, float64(cia402.CommandShutdown))
		r.store(m, drive.Controlword, float64(cia402.CommandEnableOperation))
	case 12, 13: // begins the gate of its speed anew
		e := r.s.Encoders[chance.IntN(plant.AxisCount)]
		if err := e.Store(encoder.OperatingParameters, e.Load(encoder.OperatingParameters)); err != nil {
			r.t.Fatal(err)
		}
	}
}

// player carries a trial through, with fast-forward or without.
type player func(t testing.TB, every bool, stops []time.Duration) *played

// compare plays a trial without fast-forward, with it, and with it about every edge of the
// record, and tells where they differ. It returns the one without.
func (x *trial) compare(t *testing.T, play player) *played {
	t.Helper()
	want, got := play(t, true, nil), play(t, false, nil)
	if all := int64(want.s.Now() / want.s.Step()); *want.steps != all || *got.steps > all*9/10 {
		t.Errorf("%d ordinary steps of %d, and %d without fast-forward; nothing is shown by that",
			*got.steps, all, *want.steps)
	}
	want.expect(t, got)
	want.expect(t, play(t, false, x.aboutEdges(want.rec.Record())))
	return want
}

// expect tells where a trial was played otherwise.
func (p *played) expect(t *testing.T, got *played) {
	t.Helper()
	if len(got.looks) != len(p.looks) {
		t.Errorf("%d looks, want %d", len(got.looks), len(p.looks))
	}
	for i := range min(len(got.looks), len(p.looks)) {
		if !bytes.Equal(got.looks[i], p.looks[i]) {
			t.Errorf("look %d: %q", i, p.words.differing(got.looks[i], p.looks[i]))
			break
		}
	}
	if *got.s.Plant.State() != *p.s.Plant.State() {
		t.Errorf("state\n%+v, want\n%+v", *got.s.Plant.State(), *p.s.Plant.State())
	}
	if got.rec.Record().Hash() != p.rec.Record().Hash() {
		t.Errorf("another record: %s", difference(got.rec.Record(), p.rec.Record()))
	}
}

// shows reports whether a trial differs from one without its faults in more than their marks.
func (p *played) shows(sound *played) bool {
	got, want := p.rec.Record(), sound.rec.Record()
	got.Marks, want.Marks = nil, nil
	return got.Hash() != want.Hash() || !slices.EqualFunc(p.looks, sound.looks, bytes.Equal)
}

// aboutEdges draws instants at which something is about to change in a record, or has just
// done so: what happens there is left to an ordinary step, and what follows to fast-forward.
func (x *trial) aboutEdges(r *record.Record) (at []time.Duration) {
	chance := x.seed.Stream("edges")
	for _, e := range r.Edges {
		at = append(at, e.At+time.Duration(chance.IntN(5)-2)*step)
		if e.Value == 1 { // standstill is told when its hold time has passed
			at = append(at, e.At+x.set.Standstill[0].Hold+time.Duration(chance.IntN(5)-2)*step)
		}
	}
	slices.Sort(at)
	return at
}

// difference is the first edge or sample in which two records differ.
func difference(got, want *record.Record) string {
	for i := range min(len(got.Edges), len(want.Edges)) {
		if got.Edges[i] != want.Edges[i] {
			return fmt.Sprintf("edge %+v, want %+v", got.Edges[i], want.Edges[i])
		}
	}
	if len(got.Edges) != len(want.Edges) {
		return fmt.Sprintf("%d edges, want %d", len(got.Edges), len(want.Edges))
	}
	for c := range want.Channels {
		for i, v := range want.Values(c) {
			if got.Values(c)[i] != v {
				return fmt.Sprintf("%s at %v: %g, want %g", want.Channels[c].Name, want.At[i],
					got.Values(c)[i], v)
			}
		}
		if !slices.Equal(got.Low(c), want.Low(c)) || !slices.Equal(got.High(c), want.High(c)) {
			return want.Channels[c].Name + ": other extremes"
		}
	}
	return "marks, or rows"
}

func newTrial(t *testing.T, set station.Parameters, kind fault.Kind, s seed.Seed) *trial {
	chance := s.Stream("fault")
	var able []fault.Fault // what can act on this station
	for _, target := range kind.On.Targets() {
		if f, err := set.Fault(kind.Name, target, kind.Example()); err == nil {
			able = append(able, f)
		}
	}
	if len(able) == 0 {
		t.Skipf("%s has nothing that %s can act on", set.Name, kind.Name)
	}
	f := able[chance.IntN(len(able))]
	e := fault.Entry{Fault: f, Start: moment(time.Duration(chance.Float64() * float64(3500*ms)))}
	if chance.IntN(4) > 0 {
		e.Lasts = step + time.Duration(chance.Float64()*float64(1500*ms))
	}
	x := &trial{set: set, seed: s, plan: []fault.Entry{e}, at: middle()}
	if chance.IntN(2) == 0 {
		x.at[plant.Azimuth] = float64(set.Plant.Axes[plant.Azimuth].Limits.PreLimit[plant.Upper]) -
			0.5*deg
	}
	if chance.IntN(3) == 0 { // one axis alone
		on := chance.IntN(plant.AxisCount)
		for a := range x.off {
			x.off[a] = a != on
		}
	}
	return x
}
