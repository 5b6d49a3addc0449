package standin

import (
	"errors"
	"fmt"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// Controller is one running stand-in.
type Controller struct {
	set        Settings
	net        link.Network
	group      clock.Group
	rules      rules
	thresholds thresholds

	axes      [AxisCount]axis
	encoders  [AxisCount]encoderLink
	drives    [MotorCount]*device
	interlock *device
	inputs    interlockInputs
	mode      int

	timers    [AxisCount]timers
	present   [causeCount]bool // in this cycle
	latched   [causeCount]bool
	first     cause
	firstAxis int
	pastFinal [MainAxes][2]bool // this final limit has opened since the last reset

	hornUntil, armedUntil time.Duration
	handMotion, stowing   bool
	handAxis              int
	handSpent             bool // the control must be let go before it moves anything again
	wind                  windData
	autoStow              autoStow
	relayWasClosed        bool    // since the controller began
	outputs               outputs // of this cycle
	sent                  outputs // last sent to the interlock unit
	acknowledged          bool
	clearDrives           int // cycles during which the fault reset bit is sent

	agent  *agent
	cycles uint32
}

// Start connects a controller to its devices and starts its control cycle and
// its agent. The devices need not answer yet. Errors name the seat at fault.
func Start(c clock.Clock, net link.Network, set Settings, seats Devices) (*Controller, error) {
	return start(c, net, set, seats, func(*Controller) {})
}

// start is Start of a variant: alter may change the controller before it does anything.
func start(
	c clock.Clock, net link.Network, set Settings, seats Devices, alter func(*Controller),
) (*Controller, error) {
	k := &Controller{set: set, net: net, group: c.Group("stand-in"),
		thresholds: defaultThresholds()}
	k.rules = k.defaultRules()
	k.wind = windData{mast: seats.Mast.Endpoint, gustReadings: gustReadings}
	for i := range k.axes {
		k.axes[i] = newAxis(&k.set.Axes[i], &k.set.Timing)
	}
	if k.set.Kept == nil {
		k.set.Kept = &Kept{}
	}
	err := k.connect(seats)
	if err != nil {
		return nil, err
	}
	alter(k)
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
	c.agent.publish(now)
}

func (c *Controller) decide(now time.Duration) {
	c.rules.read(now)
	c.rules.supervise(now)
	c.obeyOrders(now)
	c.rules.hand(now)
	c.rules.stow(now)
	dt := c.set.Timing.Cycle.Seconds()
	for k := range c.axes {
		c.axes[k].cycle(now, dt)
	}
	c.outputs = c.rules.compose(now)
}

// obeyOrders carries out what the agent took in since the last cycle.
func (c *Controller) obeyOrders(now time.Duration) {
	for _, o := range c.agent.takeOrders() {
		err := c.rules.accept(o, now)
		if err == nil {
			c.rules.obey(o, now)
		}
		c.agent.decide(o, err)
	}
}

// state is the controller's state as the MIB names it.
func (c *Controller) state(now time.Duration) State {
	switch {
	case c.autoStow.underWay():
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
		if c.axes[k].started() && !c.axes[k].inPlace() {
			return true
		}
	}
	return false
}
