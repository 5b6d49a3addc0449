package controller

import (
	"testing"
	"time"

	"haltmark/bench/link"
)

// impairedObserver starts an observer whose own traffic one may impair; advance is
// called before each of its messages.
func impairedObserver(f *fake, advance func(now time.Duration)) (*Observer, *link.Impairments) {
	o := f.observer(testProfile())
	d := f.net.Dialer(link.Client{Name: "management", Advance: advance})
	o.Through(d)
	f.start(o)
	return o, d.Impairments()
}

// Answers that are lost from one instant on: the poll of that instant goes unanswered,
// although the agent has answered it.
func TestObserver_OwnPollsAreLostFromTheInstantOn(t *testing.T) {
	f := newFake(t)
	var i *link.Impairments
	o, i := impairedObserver(f, func(now time.Duration) {
		if now >= 200*ms && i != nil {
			i.Change(func(c *link.Conditions) { c.ToController.Silent = now < 300*ms })
		}
	})
	f.run(199 * ms)
	if s := o.Status(); s.At != 180*ms+trip {
		t.Errorf("last answer at %v", s.At)
	}
	f.run(299 * ms)
	if s := o.Status(); s.At == 200*ms+trip || s.Heard {
		t.Errorf("answered: %+v", s)
	}
	f.run(310 * ms)
	if s := o.Status(); !s.Heard || s.StateSince != 300*ms+trip {
		t.Errorf("not heard again: %+v", s)
	}
}

// A command that comes twice acts once, and one that is lost is sent again.
func TestObserver_OwnCommandsRepeatedAndLost(t *testing.T) {
	f := newFake(t)
	o, i := impairedObserver(f, nil)
	f.run(50 * ms)
	i.Change(func(c *link.Conditions) { c.ToDevice.RepeatProbability = 1 })
	twice := o.Command(Stop, AllAxes, 0)
	f.run(500 * ms)
	if r := twice.Report(); r.Outcome != Obeyed || r.Tries != 1 || len(f.orders) != 1 {
		t.Errorf("%+v, %d orders", r, len(f.orders))
	}
	i.Change(func(c *link.Conditions) { *c = link.Conditions{Pulled: true} })
	lost := o.Command(Stop, AllAxes, 0)
	f.clock.At(510*ms, func() { i.Change(func(c *link.Conditions) { c.Pulled = false }) })
	f.run(3 * time.Second)
	if r := lost.Report(); r.Outcome != Obeyed || r.Tries != 2 || len(f.orders) != 2 {
		t.Errorf("%+v, %d orders", r, len(f.orders))
	}
}
