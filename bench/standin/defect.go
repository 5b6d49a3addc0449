package standin

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// Defect is a seeded fault of the controller's logic, for showing that the
// bench catches it. It wraps the rules of the controller or changes its settings.
type Defect struct {
	Name        string
	Wrong       string // what it does wrong
	Requirement string // the requirement expected to catch it
	wrap        func(*Controller)
}

// Obstinate is the extreme: it obeys motion and reacts to nothing, so every
// reaction that the controller answers for fails on it.
const Obstinate = "obstinate"

// Defects is the catalogue by where they sit: in the timing, the inputs, the decisions
// and the outputs; then the extreme.
func Defects() []Defect {
	return slices.Concat(timingDefects(), inputDefects(), causeDefects(), responseDefects(),
		commandDefects(), peopleDefects(), motionDefects(), outputDefects(), reportDefects(),
		[]Defect{extreme()})
}

// FindDefect finds a defect by name; "" is none.
func FindDefect(name string) (Defect, error) {
	if name == "" {
		return Defect{}, nil
	}
	all := Defects()
	i := slices.IndexFunc(all, func(d Defect) bool { return d.Name == name })
	if i < 0 {
		return Defect{}, fmt.Errorf("standin: no defect %q; `haltmark defects` lists them", name)
	}
	return all[i], nil
}

// Start is Start of a controller with this defect; the zero Defect is none.
func (d Defect) Start(
	c clock.Clock, net link.Network, set Settings, seats Devices,
) (*Controller, error) {
	if d.wrap == nil {
		return Start(c, net, set, seats)
	}
	return start(c, net, set, seats, d.wrap)
}

// wraps puts several changes of one defect together.
func wraps(all ...func(*Controller)) func(*Controller) {
	return func(c *Controller) {
		for _, wrap := range all {
			wrap(c)
		}
	}
}

// eachSetting changes the settings of every axis.
func eachSetting(change func(*AxisSettings)) func(*Controller) {
	return func(c *Controller) {
		for k := range c.set.Axes {
			change(&c.set.Axes[k])
		}
	}
}

// reads changes what has just been read.
func reads(change func(*Controller)) func(*Controller) {
	return func(c *Controller) { after(&c.rules.read, func(time.Duration) { change(c) }) }
}

// after has something done behind a rule.
func after(rule *func(time.Duration), do func(time.Duration)) {
	inner := *rule
	*rule = func(now time.Duration) {
		inner(now)
		do(now)
	}
}

// raises decides whether a cause is raised at all.
func raises(does func(c *Controller, what cause, axis int, now time.Duration) bool,
) func(*Controller) {
	return func(c *Controller) {
		inner := c.rules.raise
		c.rules.raise = func(what cause, axis int, r response, now time.Duration) {
			if does(c, what, axis, now) {
				inner(what, axis, r, now)
			}
		}
	}
}

// ignores never raises these causes.
func ignores(causes ...cause) func(*Controller) {
	return raises(func(_ *Controller, what cause, _ int, _ time.Duration) bool {
		return !slices.Contains(causes, what)
	})
}

// inSpiteOf a refusal a command is obeyed.
func inSpiteOf(refusal error) func(*Controller) {
	return func(c *Controller) {
		inner := c.rules.accept
		c.rules.accept = func(o order, now time.Duration) error {
			if err := inner(o, now); !errors.Is(err, refusal) {
				return err
			}
			return nil
		}
	}
}

// as has something decided as if inputs and history were others.
func (c *Controller) as(pretend func(*Controller), decide func()) {
	inputs, past := c.inputs, c.pastFinal
	pretend(c)
	decide()
	c.inputs, c.pastFinal = inputs, past
}

// acceptsAs has commands accepted as if the inputs were others.
func acceptsAs(pretend func(*Controller)) func(*Controller) {
	return func(c *Controller) {
		inner := c.rules.accept
		c.rules.accept = func(o order, now time.Duration) (err error) {
			c.as(pretend, func() { err = inner(o, now) })
			return err
		}
	}
}

// followsPanelAs has the hand control obeyed as if inputs and history were others.
func followsPanelAs(pretend func(*Controller)) func(*Controller) {
	return func(c *Controller) {
		inner := c.rules.hand
		c.rules.hand = func(now time.Duration) { c.as(pretend, func() { inner(now) }) }
	}
}

// obeys has something else done on a command; it says whether that was all.
func obeys(verb Verb, instead func(c *Controller, now time.Duration) bool) func(*Controller) {
	return func(c *Controller) {
		inner := c.rules.obey
		c.rules.obey = func(o order, now time.Duration) {
			if o.verb != verb || !instead(c, now) {
				inner(o, now)
			}
		}
	}
}

// steps puts another step in the place of that of a phase, on every axis.
func steps(p phase, other func(inner step) step) func(*Controller) {
	return func(c *Controller) {
		for k := range c.axes {
			c.axes[k].steps[p] = other(c.axes[k].steps[p])
		}
	}
}

// sends changes what is put out in a cycle.
func sends(change func(c *Controller, o *outputs, now time.Duration)) func(*Controller) {
	return func(c *Controller) {
		inner := c.rules.compose
		c.rules.compose = func(now time.Duration) outputs {
			o := inner(now)
			change(c, &o, now)
			return o
		}
	}
}

// delay is over some time after it was first asked.
type delay struct{ by, since time.Duration }

func (d *delay) over(now time.Duration) bool {
	if d.since == 0 {
		d.since = now
	}
	return now-d.since >= d.by
}
