package controller

import (
	"testing"
	"time"

	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/snmp"
)

// A round trip on the memory network: 50 us each way.
const trip = 100 * time.Microsecond

func TestObserver_LearnsAtThePollAfterTheChange(t *testing.T) {
	f := newFake(t)
	o := f.observer(testProfile())
	var changes []Change
	o.OnChange(func(c Change) { changes = append(changes, c) })
	f.start(o)
	f.clock.At(205*ms, func() { f.word = 9 | 2<<4 | 50<<8 | 1<<19 })
	f.run(time.Second)
	if len(changes) != 2 {
		t.Fatalf("%d changes: %+v", len(changes), changes)
	}
	if c := changes[0]; c.At != trip || c.Status.State != Resting || c.Status.Cause != (Cause{}) {
		t.Errorf("first: %+v", c)
	}
	s := changes[1].Status
	if changes[1].At != 220*ms+trip || s.State != Stopped || s.Cause != pressed() ||
		s.CauseAxis != int(plant.Elevation) || !s.Unacknowledged || s.Locked || s.Armed ||
		s.StateSince != 220*ms+trip || s.CauseSince != 220*ms+trip {
		t.Errorf("second at %v: %+v", changes[1].At, s)
	}
	if s := o.Status(); s.At != time.Second-20*ms+trip && s.At != time.Second {
		t.Errorf("last answer at %v", s.At)
	}
	if c := o.Counters(); c.Polls < 49 || c.Missed != 0 || c.LatenessMax != trip {
		t.Errorf("%+v", c)
	}
}

func TestObserver_TableOncePerSecond(t *testing.T) {
	f := newFake(t)
	o := f.started(testProfile())
	f.run(900 * ms)
	az, el := o.Axis(plant.Azimuth), o.Axis(plant.Elevation)
	if az.At != trip || !near(az.Position, float64(-12.5*quantity.Degree)) ||
		!near(el.Position, float64(45*quantity.Degree)) {
		t.Errorf("%+v, %+v", az, el)
	}
	// The agent has no such instance, and the profile no rate.
	if h := o.Axis(plant.PolarizationH); h.Position == h.Position || az.Rate == az.Rate {
		t.Errorf("%+v, %+v", h, az)
	}
	f.version = "v2"
	f.run(2100 * ms)
	if o.Version() != "v2" || o.Axis(plant.Azimuth).At != 2*time.Second+trip {
		t.Errorf("version %q at %v", o.Version(), o.Axis(plant.Azimuth).At)
	}
}

func TestObserver_SilenceAndReturn(t *testing.T) {
	f := newFake(t)
	o := f.started(testProfile())
	f.run(205 * ms)
	f.impair(link.Impairment{Silent: true})
	f.run(265 * ms) // 64.9 ms after the last answer
	if !o.Status().Heard {
		t.Error("silent too early")
	}
	f.run(285 * ms)
	if s := o.Status(); s.Heard || s.State != StateUnknown || s.Cause != (Cause{}) {
		t.Errorf("not silent: %+v", s)
	}
	f.impair(link.Impairment{})
	f.run(305 * ms)
	if s := o.Status(); !s.Heard || s.State != Resting || s.StateSince != 300*ms+trip {
		t.Errorf("not heard again: %+v", s)
	}
}

// A controller that is not there, is started, dies, and starts anew.
func TestObserver_BearsRestarts(t *testing.T) {
	f := newFake(t)
	f.first = 500
	if err := f.listener.Close(); err != nil {
		t.Fatal(err)
	}
	o := f.observer(testProfile())
	var notices []Notice
	o.OnNotification(func(n Notice) { notices = append(notices, n) })
	f.start(o)
	f.run(100 * ms)
	if o.Status().Heard {
		t.Error("heard what is not there")
	}
	f.send(7, 500, 9, below(4, 0, 1), false)
	f.serve()
	f.run(200 * ms)
	if err := f.listener.Close(); err != nil {
		t.Fatal(err)
	}
	f.run(400 * ms)
	if o.Status().Heard || o.Counters().Restarts != 0 {
		t.Errorf("%+v, %+v", o.Status(), o.Counters())
	}
	f.first = 0
	f.serve()
	f.run(500 * ms)
	if !o.Status().Heard || o.Counters().Restarts != 1 {
		t.Errorf("%+v, %+v", o.Status(), o.Counters())
	}
	f.send(7, f.counter(), 1, below(4, 0, 1), false) // a new life counts anew
	f.run(510 * ms)
	if len(notices) != 2 || notices[1].Repeat {
		t.Errorf("%+v", notices)
	}
}

// Whatever reaches the notification port is taken for news or counted.
func FuzzNotification(f *testing.F) {
	fake := newFake(f)
	n := snmp.Notification{Name: below(4, 0, 1), Inform: true, Bindings: []snmp.Binding{
		{Name: below(1, 1, 0), Value: snmp.Integer(7)},
		{Name: below(1, 2, 0), Value: snmp.Counter32(3)},
		{Name: below(4, 1, 0), Value: snmp.Counter32(1)},
		{Name: below(4, 2, 0), Value: snmp.Text("told")}}}
	for _, community := range []string{"watch", "unknown"} {
		wire, err := n.Message(community, 3).Append(nil)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(wire)
	}
	f.Fuzz(func(t *testing.T, datagram []byte) {
		fake.t = t
		o := fake.observer(testProfile())
		told := 0
		o.OnNotification(func(Notice) { told++ })
		answer := receiver{o}.Respond(nil, datagram)
		if told+int(o.Counters().Undecodable) != 1 || told == 0 && len(answer) != 0 {
			t.Errorf("told %d, counted %d, answered % x", told, o.Counters().Undecodable, answer)
		}
	})
}

// Counter32 4294967295 + 1 is 0 (RFC 2578 section 7.1.6): going on, no restart.
func TestObserver_CounterWrapsAndFreezes(t *testing.T) {
	f := newFake(t)
	f.first = 1<<32 - 5
	o := f.started(testProfile())
	f.run(400 * ms)
	if s := o.Status(); s.CounterFrozen || s.Counter > 20 || o.Counters().Restarts != 0 {
		t.Errorf("%+v, %+v", s, o.Counters())
	}
	f.first, f.frozen = f.counter(), true
	f.run(460 * ms)
	if o.Status().CounterFrozen {
		t.Error("frozen too early")
	}
	f.run(500 * ms)
	if s := o.Status(); !s.CounterFrozen || !s.Heard {
		t.Errorf("not frozen: %+v", s)
	}
	f.frozen = false
	f.run(530 * ms)
	if o.Status().CounterFrozen {
		t.Error("still frozen")
	}
}

func TestObserver_Notifications(t *testing.T) {
	f := newFake(t)
	p := testProfile()
	o := f.observer(p)
	var notices []Notice
	o.OnNotification(func(n Notice) { notices = append(notices, n) })
	f.start(o)
	stopped := int32(9 | 1<<4 | 4<<8)
	f.clock.At(109*ms, func() {
		f.word = stopped
		f.send(stopped, f.counter(), 1, below(4, 0, 1), false)
		f.send(stopped, f.counter(), 1, below(4, 0, 1), false)
		f.send(7, f.counter()-3, 2, below(4, 0, 9), true) // overtaken on its way
	})
	f.run(115 * ms)
	if len(notices) != 3 {
		t.Fatalf("%d notices", len(notices))
	}
	n := notices[0]
	if n.At != 109*ms+trip/2 || n.Name != "stopped" || n.Status.Cause != opened() ||
		n.Status.CauseAxis != int(plant.Azimuth) || n.Number != 1 || n.Text != "told" || n.Repeat {
		t.Errorf("first: %+v", n)
	}
	if !notices[1].Repeat || notices[2].Repeat || notices[2].Name != below(4, 0, 9).String() {
		t.Errorf("%+v, %+v", notices[1], notices[2])
	}
	// Learned from the first, 11 ms before the next poll; the late one taught nothing.
	if s := o.Status(); s.State != Stopped || s.CauseSince != 109*ms+trip/2 {
		t.Errorf("%+v", s)
	}
	if err := f.notify.Write([]byte("no notification")); err != nil {
		t.Fatal(err)
	}
	f.run(120 * ms)
	if c := o.Counters(); c.Undecodable != 1 || c.Notifications != 3 {
		t.Errorf("%+v", c)
	}
}

func TestObserver_HeardAfterBadDatagrams(t *testing.T) {
	f := newFake(t)
	o := f.started(testProfile())
	f.run(50 * ms)
	f.impair(link.Impairment{RepeatProbability: 1, CorruptProbability: 0.3})
	f.run(3 * time.Second)
	f.impair(link.Impairment{})
	f.run(3100 * ms)
	if s := o.Status(); !s.Heard || s.State != Resting {
		t.Errorf("%+v", s)
	}
}
