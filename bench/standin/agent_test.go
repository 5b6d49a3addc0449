package standin

import (
	"slices"
	"testing"
	"time"

	"haltmark/emulators/snmp"
)

// The objects of the management layout, in its order, right after a start with
// nothing at the devices' seats.
func TestAgent_Objects(t *testing.T) {
	r := newRig(t)
	r.c.axes[1].position, r.c.axes[1].rate = -12.5*deg, 0.25*deg
	r.c.axes[3].goal = goal{goalPosition, 45.5 * deg, deg}
	r.run(30 * ms) // two cycles, none silent yet
	for _, one := range []struct {
		name snmp.OID
		want snmp.Value
	}{
		{below(1, 1, 0), snmp.Integer(0)},
		{below(1, 2, 0), snmp.Counter32(2)},
		{below(1, 3, 0), snmp.Text(Version)},
		{below(1, 4, 0), snmp.Integer(2)}, // remote
		{below(2, 1, 2), snmp.Integer(-12500000)},
		{below(2, 2, 2), snmp.Integer(250000)},
		{below(2, 3, 1), snmp.Integer(0)},
		{below(2, 4, 4), snmp.Integer(45500000)},
		{below(2, 4, 3), snmp.Integer(0)},
		{below(3, 5, 0), snmp.Integer(0)},
		{below(3, 6, 0), snmp.Integer(0)},
		{below(4, 1, 0), snmp.Counter32(0)},
		{below(4, 2, 0), snmp.Text("")},
	} {
		r.c.cycles = 2
		if got := r.get(one.name)[0]; got.Type != one.want.Type || got.Int != one.want.Int ||
			!slices.Equal(got.Octets, one.want.Octets) {
			t.Errorf("%v: %+v, want %+v", one.name, got, one.want)
		}
	}
	if up := r.get(snmp.SysUpTime())[0]; up.Type != snmp.TypeTimeTicks || up.Int < 3 || up.Int > 60 {
		t.Errorf("sysUpTime %+v", up)
	}
}

// Bits 0-3 state, 4-7 axis (0 all or none), 8-15 first cause, 18 armed, 19 not yet
// acknowledged; states and causes by the numbers of the management layout.
func TestAgent_StatusWord(t *testing.T) {
	for _, one := range []struct {
		name string
		set  func(*Controller)
		want int32
	}{
		{"at rest", func(c *Controller) { c.disarm() }, 0},
		{"armed", func(*Controller) {}, 1 | 1<<18},
		{"moving", func(c *Controller) {
			c.axes[0].phase, c.axes[0].ref.rate = running, deg
		}, 2 | 1<<18},
		{"holding", func(c *Controller) { c.axes[0].phase = running }, 4 | 1<<18},
		{"stowing", func(c *Controller) {
			c.axes[1].phase, c.stowing = running, true
		}, 5 | 1<<18},
		{"elevation's encoder lost", func(c *Controller) {
			c.raise(causeEncoderLost, 1, time.Second)
		}, 6 | 2<<4 | 9<<8 | 1<<19},
		{"emergency stop, of no axis", func(c *Controller) {
			c.raise(causeEmergencyStop, allAxes, time.Second)
		}, 6 | 5<<8 | 1<<19},
		{"acknowledged", func(c *Controller) {
			c.raise(causeEmergencyStop, allAxes, time.Second)
			c.carryOut(order{verb: VerbAcknowledge}, time.Second)
		}, 6 | 5<<8},
		{"azimuth's pre-limit", func(c *Controller) {
			c.axes[0].phase = running
			c.raise(causePreLimit, 0, time.Second)
		}, 4 | 1<<4 | 3<<8 | 1<<18},
	} {
		c := ready(t)
		one.set(c)
		c.agent.publish(2 * time.Second)
		if c.agent.status != one.want {
			t.Errorf("%s: %#08x, want %#08x", one.name, c.agent.status, one.want)
		}
	}
}

func TestAgent_OneOrderForATokenHoweverOften(t *testing.T) {
	r := newRig(t)
	r.run(2 * ms)
	for range 3 { // within one cycle, as a manager does that missed the answer
		if answer := r.set(VerbStop, 0, 0, 77); answer.Status != snmp.NoError {
			t.Fatal(answer.Status)
		}
	}
	if n := len(r.c.agent.queue); n != 1 {
		t.Fatalf("%d orders of one token", n)
	}
	r.run(25 * ms)
	if v := r.get(below(3, 5, 0), below(3, 6, 0)); v[0].Int != 77 || v[1].Int != 1 {
		t.Errorf("token %d, result %d", v[0].Int, v[1].Int)
	}
	if answer := r.set(VerbStop, 0, 0, 77); answer.Status != snmp.NoError {
		t.Error(answer.Status)
	}
	if n := len(r.c.agent.queue); n != 0 {
		t.Errorf("the token of a decided command gives %d orders", n)
	}
	// Nor is it judged again by what has come since.
	r.c.inputs.mode = modeLocal
	r.c.agent.remember(79, nil)
	if answer := r.set(VerbArm, 0, 0, 79); answer.Status != snmp.NoError {
		t.Errorf("the token of a decided command: %v", answer.Status)
	}
	if answer := r.set(VerbStop, 0, 0, 78); answer.Status != snmp.NoError ||
		len(r.c.agent.queue) != 1 {
		t.Error("a fresh token gives no order")
	}
	// One that was decided before the last comes late, or is replayed.
	if answer := r.set(VerbStop, 0, 0, 77); answer.Status != snmp.NoError ||
		len(r.c.agent.queue) != 1 {
		t.Error("an old token gives an order")
	}
}

func TestAgent_SetWithoutTokenOnlyStores(t *testing.T) {
	r := newRig(t)
	r.run(2 * ms)
	answer := r.ask(snmp.Set, snmp.Binding{Name: below(3, 1, 0), Value: snmp.Integer(6)})
	if answer.Status != snmp.NoError || len(r.c.agent.queue) != 0 {
		t.Errorf("%v, %d orders", answer.Status, len(r.c.agent.queue))
	}
	if v := r.get(below(3, 1, 0)); v[0].Int != 6 {
		t.Errorf("read back %d", v[0].Int)
	}
}

// Results 2 to 8 of the management layout, at the Set itself.
func TestAgent_RefusesAtTheSet(t *testing.T) {
	for _, one := range []struct {
		name   string
		set    func(*Controller)
		verb   Verb
		axis   int
		value  int32
		result int64
	}{
		{"latched", func(c *Controller) { c.latched[causeOverspeed] = true }, VerbArm, 0, 0, 2},
		{"not armed", nil, VerbRate, 1, 1000000, 3},
		{"mode", func(c *Controller) { c.inputs.mode = modeLocal }, VerbArm, 0, 0, 4},
		{"outside", armedNow, VerbPosition, 1, 300000000, 5},
		{"inward", func(c *Controller) {
			armedNow(c)
			c.inputs.preLimit[0][1] = true
		}, VerbRate, 1, 1000000, 6},
		{"present", nil, VerbReset, 0, 0, 7},
		{"unknown verb", nil, 12, 0, 0, 8},
		{"unknown axis", armedNow, VerbRate, 5, 0, 8},
	} {
		r := newRig(t)
		r.run(2 * ms)
		if one.set != nil {
			one.set(r.c)
		}
		if answer := r.set(one.verb, one.axis, one.value, 9); answer.Status != snmp.InconsistentValue {
			t.Errorf("%s: %v", one.name, answer.Status)
		}
		if v := r.get(below(3, 5, 0), below(3, 6, 0)); v[0].Int != 9 || v[1].Int != one.result {
			t.Errorf("%s: token %d, result %d, want 9 and %d", one.name, v[0].Int, v[1].Int,
				one.result)
		}
		if len(r.c.agent.queue) != 0 {
			t.Errorf("%s: queued all the same", one.name)
		}
	}
}

func armedNow(c *Controller) { c.armedUntil = time.Hour }

func TestAgent_ReaderCommandsNothing(t *testing.T) {
	r := newRig(t)
	r.run(2 * ms)
	m := snmp.Message{Community: ReadCommunity, PDU: snmp.PDU{Kind: snmp.Set, RequestID: 1,
		Bindings: []snmp.Binding{{Name: below(3, 4, 0), Value: snmp.Integer(5)}}}}
	request, err := m.Append(nil)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := snmp.Decode(r.c.agent.Respond(nil, request))
	if err != nil || answer.Status == snmp.NoError {
		t.Errorf("%+v, %v", answer, err)
	}
	if r.c.agent.written[3] != 0 {
		t.Error("written by a reader")
	}
}

// With nobody at the seats every device is lost after 100 ms; the interlock unit
// is looked at first and stays the first cause.
func TestAgent_ReportsTheFirstCauseOnce(t *testing.T) {
	r := newRig(t)
	r.run(time.Second)
	if len(r.heard) != 1 {
		t.Fatalf("%d notifications", len(r.heard))
	}
	n, err := r.heard[0].Notification()
	if err != nil {
		t.Fatal(err)
	}
	if !n.Name.Equal(below(4, 0, 1)) || n.UpTime != 100*ms {
		t.Errorf("%v at %v", n.Name, n.UpTime)
	}
	want := []struct {
		name snmp.OID
		text string
		n    int64
	}{{below(1, 1, 0), "", 6 | 13<<8 | 1<<19}, {below(1, 2, 0), "", 6}, {below(4, 1, 0), "", 1},
		{below(4, 2, 0), "interlock unit silent", 0}}
	if len(n.Bindings) != len(want) {
		t.Fatalf("%d variables", len(n.Bindings))
	}
	for i, w := range want {
		b := n.Bindings[i]
		if !b.Name.Equal(w.name) || b.Value.Int != w.n || string(b.Value.Octets) != w.text {
			t.Errorf("variable %d: %v %+v, want %+v", i+1, b.Name, b.Value, w)
		}
	}
}
