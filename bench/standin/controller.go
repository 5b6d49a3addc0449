package standin

import (
	"errors"
	"fmt"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// brakeFeedbackTime is how long a brake may owe its feedback (STATIONS.md).
const brakeFeedbackTime = 500 * time.Millisecond

// Controller is one running stand-in.
type Controller struct {
	set   Settings
	net   link.Network
	group clock.Group
	flaw  flaw

	axes      [AxisCount]axis
	encoders  [AxisCount]encoderLink
	drives    [MotorCount]*device
	interlock *device
	seen      interlockSeen
	mode      int

	timers    [AxisCount]timers
	present   [causeCount]bool // seen in this cycle
	latched   [causeCount]bool
	first     cause
	firstAxis int
	lateStop  [AxisCount]time.Duration
	heardAt   [causeCount]time.Duration // of causes that a defect answers late
	letGoAt   time.Duration             // of the hand control, where a defect goes on
	firstAt   time.Duration             // when the first cause was raised
	served    [MainAxes][2]bool         // the axis has stopped at this pre-limit
	passed    [MainAxes][2]bool         // this final limit has opened since the last reset

	hornUntil, armedUntil time.Duration
	handing, stowing      bool
	wind                  windSeen
	refuge                refuge
	resumed               bool
	wasClosed             bool // the relay, since the controller began
	horn                  bool
	outputs               uint32 // interlock outputs last sent, as bits
	acknowledged          bool
	clearDrives           int // cycles during which the fault reset bit is sent

	agent  *agent
	cycles uint32
}

// Start connects a controller to its devices and starts its control cycle and
// its agent. The devices need not answer yet. Errors name the seat at fault.
func Start(c clock.Clock, net link.Network, set Settings, seats Devices) (*Controller, error) {
	k := &Controller{set: set, net: net, group: c.Group("stand-in")}
	k.wind.mast = seats.Mast.Endpoint
	var err error
	if k.flaw, err = flawOf(set.Defect); err != nil {
		return nil, err
	}
	for i := range k.axes {
		k.axes[i] = axis{set: &k.set.Axes[i], careless: k.flaw.dragsBrake,
			unlimited: k.flaw.ignoresSoftware || k.flaw.obstinate, flaw: &k.flaw}
	}
	if k.set.Kept == nil {
		k.set.Kept = &Kept{}
	}
	if err := k.connect(seats); err != nil {
		return nil, err
	}
	if k.agent, err = newAgent(k, seats); err != nil {
		return nil, fmt.Errorf("standin: management agent: %w", err)
	}
	k.group.Start("stand-in control cycle", k.run)
	if seats.Mast.Endpoint.Address != "" {
		k.group.Start("stand-in weather", k.listenToMast)
	}
	return k, nil
}

// Stop ends the controller at once, as pulling its plug would.
func (c *Controller) Stop() {
	c.group.Stop()
	errs := []error{c.agent.close(), c.interlock.close(), c.wind.close()}
	for i := range c.encoders {
		errs = append(errs, c.encoders[i].close())
	}
	for _, d := range c.drives {
		errs = append(errs, d.close())
	}
	// A connection that is already gone has nothing left to close.
	_ = errors.Join(errs...)
}

// run is the control cycle: read, decide, write, sleep to the next multiple.
func (c *Controller) run(p clock.Process) {
	start := p.Now()
	for n := int64(0); ; n++ {
		p.SleepUntil(start + time.Duration(n)*c.set.Timing.Cycle)
		c.cycle(p)
	}
}

// cycle reads encoders and the interlock unit, decides, and writes the drives,
// whose answers are the next cycle's news.
func (c *Controller) cycle(p clock.Process) {
	now := p.Now()
	c.readInputs(p)
	c.decide(now)
	c.writeOutputs(p)
	c.cycles++
	c.agent.publish(c, now)
}

func (c *Controller) decide(now time.Duration) {
	dt := c.set.Timing.Cycle.Seconds()
	c.takeReadings(dt)
	c.supervise(now)
	c.obeyOrders(now)
	c.resume(now)
	c.hand(now)
	c.seekRefuge(now)
	for k := range c.axes {
		c.axes[k].cycle(now, dt)
	}
	c.horn = now < c.hornUntil
	c.spoil(now)
}

// obeyOrders carries out what the agent took in since the last cycle.
func (c *Controller) obeyOrders(now time.Duration) {
	for _, o := range c.agent.take() {
		err := c.check(o, now)
		if err == nil {
			c.obey(o, now)
		}
		c.agent.decide(o, err)
	}
}

// state is the controller's state as the MIB names it.
func (c *Controller) state(now time.Duration) State {
	switch {
	case c.refuge.sought():
		return StateStowing
	case c.anyLatched():
		return StateStopped
	case c.powered() && c.stowing:
		return StateStowing
	case c.powered() && c.moving():
		return StateMoving
	case c.powered():
		return StateHolding
	case c.armedUntil != 0 && now < c.armedUntil:
		return StateArmed
	}
	return StateResting
}

func (c *Controller) moving() bool {
	for k := range c.axes {
		if p := c.axes[k].phase; p != off && p != dropped && !c.axes[k].inPlace() {
			return true
		}
	}
	return false
}
