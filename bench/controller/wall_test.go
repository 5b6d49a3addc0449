package controller

import (
	"sync/atomic"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/emulators/snmp"
)

// The same observer over loopback UDP and on the wall clock: it learns, commands,
// and is told. Nothing is timed.
func TestObserver_OnTheWallClock(t *testing.T) {
	c := clock.NewWall()
	host := link.NewHost(c)
	p := testProfile()
	p.Agent.Address, p.Notify.Address = "127.0.0.1:0", "127.0.0.1:0"
	p.Result = nil
	var word atomic.Int32
	word.Store(7)
	agent := wallAgent(t, &word)
	listener, err := host.Serve(link.Service{Name: "controller", Endpoint: p.Agent,
		Framing: link.SNMPDatagram, Open: func() link.Session { return agent }})
	if err != nil {
		t.Fatal(err)
	}
	p.Agent = listener.Endpoint()
	o, err := NewObserver(c, host, p)
	if err != nil {
		t.Fatal(err)
	}
	var notices atomic.Int32
	o.OnNotification(func(Notice) { notices.Add(1) })
	if err := o.Start(); err != nil {
		t.Fatal(err)
	}
	patience := 20 * time.Second
	if !c.Run(patience, func() bool { return o.Status().State == Resting }) {
		t.Errorf("not heard: %+v, %+v", o.Status(), o.Counters())
	}
	order := o.Command(Stop, AllAxes, 0)
	if !c.Run(patience, order.Done) || order.Report().Outcome != Obeyed {
		t.Errorf("%+v", order.Report())
	}
	if !c.Run(patience, func() bool { return o.Status().Cause.Name == "emergency_stop" }) {
		t.Errorf("not learned: %+v", o.Status())
	}
	notify, err := host.Dial(o.NotifyEndpoint(), link.SNMPDatagram)
	if err != nil {
		t.Fatal(err)
	}
	n := snmp.Notification{Name: below(4, 0, 1)}
	wire, err := n.Message("watch", 1).Append(nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := notify.Write(wire); err != nil {
		t.Fatal(err)
	}
	if !c.Run(patience, func() bool { return notices.Load() == 1 }) {
		t.Errorf("not told: %+v", o.Counters())
	}
	for _, close := range []func() error{notify.Close, o.Close, listener.Close} {
		if err := close(); err != nil {
			t.Error(err)
		}
	}
}

// wallAgent serves a status word, which a command changes, and a counter.
func wallAgent(t *testing.T, word *atomic.Int32) *snmp.Agent {
	t.Helper()
	var count uint32
	write := func(n uint32) snmp.Object {
		return snmp.Object{Name: below(3, n, 0), Type: snmp.TypeInteger,
			Write: func(snmp.Value) error { return nil }}
	}
	agent, err := snmp.NewAgent(snmp.AgentOptions{
		ReadCommunity: "watch", WriteCommunity: "steer",
		Committed: func([]snmp.Binding) { word.Store(9 | 50<<8) },
	}, []snmp.Object{
		{Name: below(1, 1, 0), Type: snmp.TypeInteger,
			Get: func() snmp.Value { return snmp.Integer(word.Load()) }},
		{Name: below(1, 2, 0), Type: snmp.TypeCounter32, Get: func() snmp.Value {
			count++
			return snmp.Counter32(count)
		}},
		write(1), write(2), write(4),
	})
	if err != nil {
		t.Fatal(err)
	}
	return agent
}
