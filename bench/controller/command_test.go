package controller

import (
	"slices"
	"strings"
	"testing"
	"time"

	"haltmark/bench/link"
	"haltmark/bench/quantity"
	"haltmark/emulators/snmp"
)

func TestCommand_ObeyedWithItsInstants(t *testing.T) {
	f := newFake(t)
	f.hesitate = 15 * ms
	var told []Outcome
	o := f.observer(testProfile())
	o.OnCommand(func(r Report) { told = append(told, r.Outcome) })
	f.start(o)
	f.run(105 * ms)
	order := o.Command(Position, 1, float64(-30*quantity.Degree))
	if order.Done() {
		t.Error("done before it was sent")
	}
	if !f.clock.Run(time.Second, order.Done) {
		t.Fatalf("%+v", order.Report())
	}
	r := order.Report()
	// Sent at once; asked for its result at once and then every 20 ms.
	if r.Outcome != Obeyed || r.Queued != 105*ms || r.Sent != 105*ms || r.Answered != 105*ms+trip ||
		r.Decided != 125*ms+3*trip || r.Tries != 1 {
		t.Errorf("%+v", r)
	}
	if len(f.orders) != 1 || f.orders[0] != [4]int32{5, 2, -30000000, 1} {
		t.Errorf("orders %v", f.orders)
	}
	f.run(126 * ms) // the hooks are events of their own
	if len(told) != 2 || told[0] != Waiting || told[1] != Obeyed {
		t.Errorf("told %v", told)
	}
}

func TestCommand_InTheOrderGiven(t *testing.T) {
	f := newFake(t)
	o := f.started(testProfile())
	o.Command(Position, 0, 0)
	o.Command(Position, 1, float64(1*quantity.Degree))
	last := o.Command(Stop, AllAxes, 0)
	f.clock.Run(time.Second, last.Done)
	want := [][4]int32{{5, 1, 0, 1}, {5, 2, 1000000, 2}, {3, 0, 1000000, 3}}
	if !slices.Equal(f.orders, want) {
		t.Errorf("orders %v", f.orders)
	}
}

func TestCommand_RefusedWithReason(t *testing.T) {
	f := newFake(t)
	o := f.started(testProfile())
	f.refuse, f.code = snmp.InconsistentValue, 3
	order := o.Command(Stop, AllAxes, 0)
	f.clock.Run(time.Second, order.Done)
	if r := order.Report(); r.Outcome != Refused || r.Reason != "not armed" || r.Answered != trip {
		t.Errorf("at the Set: %+v", r)
	}
	f.refuse, f.code = snmp.NoError, 44
	order = o.Command(Stop, AllAxes, 0)
	f.clock.Run(2*time.Second, order.Done)
	if r := order.Report(); r.Outcome != Refused || r.Reason != "result code 44" {
		t.Errorf("later: %+v", r)
	}
	f.refuse = snmp.NoAccess
	p := testProfile()
	p.Result, p.Notify = nil, link.Endpoint{}
	order = f.started(p).Command(Stop, AllAxes, 0)
	f.clock.Run(3*time.Second, order.Done)
	if r := order.Report(); r.Outcome != Refused || !strings.Contains(r.Reason, "noAccess") {
		t.Errorf("without result objects: %+v", r)
	}
}

// An answer that is lost is asked for again, and the command acts once.
func TestCommand_RetriedUnderOneToken(t *testing.T) {
	f := newFake(t)
	o := f.started(testProfile())
	f.run(100 * ms)
	f.impair(link.Impairment{Silent: true})
	order := o.Command(Stop, AllAxes, 0)
	f.run(250 * ms)
	f.impair(link.Impairment{})
	f.clock.Run(time.Second, order.Done)
	r := order.Report()
	if r.Outcome != Obeyed || r.Tries != 3 || r.Sent != 100*ms || r.Answered != 300*ms+trip {
		t.Errorf("%+v", r)
	}
	if len(f.orders) != 1 {
		t.Errorf("acted on %v", f.orders)
	}
	f.impair(link.Impairment{Silent: true})
	order = o.Command(Stop, AllAxes, 0)
	f.clock.Run(2*time.Second, order.Done)
	if r := order.Report(); r.Outcome != Failed || r.Tries != 3 || r.Decided-r.Sent != 300*ms {
		t.Errorf("silent agent: %+v", r)
	}
}

// Answers to an earlier command that come late are not taken for this one's.
func TestCommand_LateAnswers(t *testing.T) {
	f := newFake(t)
	o := f.started(testProfile())
	f.impair(link.Impairment{Delay: 350 * ms})
	first := o.Command(Stop, AllAxes, 0)
	f.clock.Run(time.Second, first.Done)
	f.impair(link.Impairment{Silent: true}) // what is on its way still comes
	second := o.Command(Stop, AllAxes, 0)
	f.clock.Run(2*time.Second, second.Done)
	a, b := first.Report(), second.Report()
	if a.Outcome != Failed || b.Outcome != Failed || b.Answered != 0 {
		t.Errorf("%+v\n%+v", a, b)
	}
}

// A closed port answers at once; the tries keep their distance.
func TestCommand_ClosedPort(t *testing.T) {
	f := newFake(t)
	o := f.started(testProfile())
	if err := f.listener.Close(); err != nil {
		t.Fatal(err)
	}
	order := o.Command(Stop, AllAxes, 0)
	f.clock.Run(time.Second, order.Done)
	if r := order.Report(); r.Outcome != Failed || r.Tries != 3 || r.Decided-r.Sent != 300*ms {
		t.Errorf("%+v", r)
	}
}

func TestCommand_NeverDecided(t *testing.T) {
	f := newFake(t)
	f.hesitate = time.Hour
	o := f.started(testProfile())
	order := o.Command(Stop, AllAxes, 0)
	f.clock.Run(5*time.Second, order.Done)
	r := order.Report()
	if r.Outcome != Failed || r.Decided < time.Second || r.Decided > 1100*ms {
		t.Errorf("%+v", r)
	}
}

func TestCommand_WhatCannotBeSent(t *testing.T) {
	f := newFake(t)
	o := f.started(testProfile())
	for _, c := range []struct {
		verb  Verb
		axis  int
		value float64
	}{{Arm, AllAxes, 0}, {Position, 7, 0}, {Position, 1, float64(3000 * quantity.Degree)}} {
		order := o.Command(c.verb, c.axis, c.value)
		f.clock.Run(f.clock.Now()+time.Second, order.Done)
		if r := order.Report(); r.Outcome != Failed || r.Reason == "" || r.Sent != 0 {
			t.Errorf("%+v", r)
		}
	}
	if len(f.orders) != 0 {
		t.Errorf("orders %v", f.orders)
	}
}

func TestProfile_Check(t *testing.T) {
	for what, spoil := range map[string]func(*Profile){
		"no status":         func(p *Profile) { p.Status = nil },
		"no counter":        func(p *Profile) { p.Counter = nil },
		"field past word":   func(p *Profile) { p.Layout.Cause = Field{28, 8} },
		"unknown state":     func(p *Profile) { p.States[0].Name = "asleep" },
		"cause twice":       func(p *Profile) { p.Causes[1].Number = 4 },
		"state twice":       func(p *Profile) { p.States[1].Number = 7 },
		"axis twice":        func(p *Profile) { p.AxisNumbers[1] = 1 },
		"command of naught": func(p *Profile) { p.Commands[0].Set = nil },
		"no program":        func(p *Profile) { p.Launch = LaunchCommand },
	} {
		p := testProfile()
		if err := p.Check(); err != nil {
			t.Fatalf("the good one: %v", err)
		}
		spoil(&p)
		if p.Check() == nil {
			t.Errorf("%s: taken", what)
		}
	}
}

func TestVocabulary_NamesAndNumbers(t *testing.T) {
	if Stopped.String() != "stopped" || Restart.String() != "restart" {
		t.Error("names and constants do not line up")
	}
	if _, err := ParseVerb(""); err == nil {
		t.Error("a verb without a name")
	}
}
