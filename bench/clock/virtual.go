package clock

import (
	"iter"
	"time"
)

// Virtual is a deterministic discrete-event kernel. What is due runs one at a
// time, ordered by time, then events before processes, then events by the
// order of asking and processes by the order of starting. It must be used from
// one goroutine at a time.
type Virtual struct {
	now     time.Duration
	events  agenda
	ready   []*coroutine // by (wake time, number), the last is the next
	started int
	groups  []*virtualGroup
	inside  bool // Run is under way
	current *coroutine
}

// NewVirtual makes a kernel that stands at time 0.
func NewVirtual() *Virtual { return &Virtual{} }

// Now implements Clock.
func (v *Virtual) Now() time.Duration { return v.now }

// At implements Clock.
func (v *Virtual) At(when time.Duration, do func()) {
	v.events.push(max(when, v.now), do)
}

// Do implements Clock: nothing else runs, so it only calls.
func (v *Virtual) Do(do func()) { do() }

// Run implements Clock. Afterwards Now is until, or the instant at which done
// held.
func (v *Virtual) Run(until time.Duration, done func() bool) bool {
	if v.inside {
		panic("clock: Run called from inside the world")
	}
	if done != nil && done() {
		return true
	}
	v.inside = true
	defer func() { v.inside, v.current = false, nil }()
	for v.step(until) {
		if done != nil && done() {
			return true
		}
	}
	v.now = max(v.now, until)
	return false
}

// step runs what is due next, unless it is due after until.
func (v *Virtual) step(until time.Duration) bool {
	n := len(v.ready)
	if !v.events.empty() && (n == 0 || v.events.next() <= v.ready[n-1].at) {
		if v.events.next() > until {
			return false
		}
		v.now = v.events.next()
		v.events.pop()()
		return true
	}
	if n == 0 || v.ready[n-1].at > until || v.ready[n-1].at == Never {
		return false
	}
	c := v.ready[n-1]
	v.ready = v.ready[:n-1]
	v.now = c.at
	c.resume()
	return true
}

// Close stops every group. A kernel that is dropped without it keeps the
// coroutines of its processes.
func (v *Virtual) Close() {
	for _, g := range v.groups {
		g.Stop()
	}
}

// schedule puts c among those that wake, at its new time.
func (v *Virtual) schedule(c *coroutine, at time.Duration) {
	v.unschedule(c)
	c.at = at
	v.ready = append(v.ready, c)
	i := len(v.ready) - 1
	for i > 0 && v.ready[i-1].before(c) {
		v.ready[i] = v.ready[i-1]
		i--
	}
	v.ready[i] = c
}

func (v *Virtual) unschedule(c *coroutine) {
	for i := len(v.ready) - 1; i >= 0; i-- {
		if v.ready[i] == c {
			v.ready = append(v.ready[:i], v.ready[i+1:]...)
			return
		}
	}
}

// Group implements Clock.
func (v *Virtual) Group(name string) Group {
	g := &virtualGroup{v: v, name: name}
	v.groups = append(v.groups, g)
	return g
}

type virtualGroup struct {
	v       *Virtual
	name    string
	members []*coroutine
}

func (g *virtualGroup) Start(name string, body func(Process)) {
	g.v.started++
	c := &coroutine{v: g.v, group: g, name: name, number: g.v.started}
	c.next, c.stop = iter.Pull(c.root(body))
	g.members = append(g.members, c)
	g.v.schedule(c, g.v.now)
}

func (g *virtualGroup) Stop() {
	if c := g.v.current; c != nil && c.group == g {
		panic("clock: process " + c.name + " stops its own group " + g.name)
	}
	for len(g.members) > 0 {
		c := g.members[0]
		g.remove(c)
		g.v.unschedule(c)
		c.stop()
	}
}

func (g *virtualGroup) remove(c *coroutine) {
	for i := range g.members {
		if g.members[i] == c {
			g.members = append(g.members[:i], g.members[i+1:]...)
			return
		}
	}
}

// coroutine is a process of a Virtual kernel.
type coroutine struct {
	v      *Virtual
	group  *virtualGroup
	name   string
	number int
	at     time.Duration // wakes then
	woken  bool          // by a signal, not by its deadline
	next   func() (struct{}, bool)
	stop   func()
	yield  func(struct{}) bool
}

// before orders processes so that those that wake first sort last.
func (c *coroutine) before(d *coroutine) bool {
	return c.at < d.at || c.at == d.at && c.number < d.number
}

func (c *coroutine) root(body func(Process)) iter.Seq[struct{}] {
	return func(yield func(struct{}) bool) {
		defer recoverStopped()
		c.yield = yield
		body(c)
	}
}

// resume lets the process run until it waits again or ends.
func (c *coroutine) resume() {
	outer := c.v.current
	c.v.current = c
	if _, alive := c.next(); !alive {
		c.group.remove(c)
	}
	c.v.current = outer
}

// Now implements Process.
func (c *coroutine) Now() time.Duration { return c.v.now }

// SleepUntil implements Process.
func (c *coroutine) SleepUntil(when time.Duration) {
	if when <= c.v.now {
		return
	}
	c.v.schedule(c, when)
	if !c.yield(struct{}{}) {
		panic(stopped{})
	}
}

// Wait implements Process.
func (c *coroutine) Wait(s *Signal, deadline time.Duration) bool {
	if deadline <= c.v.now {
		return s.take()
	}
	if s.enlist(c) {
		return true
	}
	c.woken = false
	c.v.schedule(c, deadline)
	if !c.yield(struct{}{}) {
		s.leave(c)
		panic(stopped{})
	}
	if !c.woken {
		s.leave(c)
	}
	return c.woken
}

func (c *coroutine) wake() {
	c.woken = true
	c.v.schedule(c, c.v.now)
}
