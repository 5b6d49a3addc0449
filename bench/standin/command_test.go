package standin

import (
	"errors"
	"math"
	"testing"
	"time"

	"haltmark/emulators/cia402"
)

const deg = math.Pi / 180

// ready is a controller at which nothing is wrong: armed, in remote, relay closed.
func ready(t *testing.T) *Controller {
	c := newRig(t).c
	c.inputs.relayClosed, c.relayWasClosed = true, true
	c.hornUntil, c.armedUntil = time.Second, time.Hour
	return c
}

// Results 2 to 8 of the management layout, one cause at a time. Common practice:
// no motion without a fresh command after the cause is gone.
func TestCheck_Refusals(t *testing.T) {
	for _, one := range append(refusals(), limitRefusals()...) {
		c := ready(t)
		if one.set != nil {
			one.set(c)
		}
		if err := c.check(one.order, checked); !errors.Is(err, one.want) {
			t.Errorf("%s: %v, want %v", one.name, err, one.want)
		}
	}
}

// checked is the instant at which commands are checked.
const checked = 2 * time.Second

type refusal struct {
	name  string
	order order
	set   func(*Controller)
	want  error
}

func refusals() []refusal {
	const now = checked
	rate := order{verb: VerbRate, axis: 0, value: 1 * deg}
	return []refusal{
		{"rate", rate, nil, nil},
		{"a cause latched", rate, func(c *Controller) { c.latched[causeOverspeed] = true }, errLatched},
		{"arming with a cause latched", order{verb: VerbArm},
			func(c *Controller) { c.latched[causeOverspeed] = true }, errLatched},
		{"not armed", rate, func(c *Controller) { c.disarm() }, errNotArmed},
		{"horn still sounds", rate, func(c *Controller) { c.hornUntil = now + ms }, errNotArmed},
		{"arming has lapsed", rate, func(c *Controller) { c.armedUntil = now }, errNotArmed},
		{"lapsed with torque on", rate, func(c *Controller) {
			c.armedUntil, c.axes[1].phase = now, running
		}, nil},
		{"arming needs no arming", order{verb: VerbArm}, func(c *Controller) { c.disarm() }, nil},
		{"local", rate, func(c *Controller) { c.inputs.mode = modeLocal }, errLocal},
		{"maintenance", rate, func(c *Controller) { c.inputs.mode = modeMaintenance }, errLocal},
		{"arming in local", order{verb: VerbArm},
			func(c *Controller) { c.inputs.mode = modeLocal }, errLocal},
		{"stow in local", order{verb: VerbStow},
			func(c *Controller) { c.inputs.mode = modeLocal }, errLocal},
		{"stop in local", order{verb: VerbStop},
			func(c *Controller) { c.inputs.mode = modeLocal }, nil},
		{"stop while latched and not armed", order{verb: VerbStop}, func(c *Controller) {
			c.latched[causeFinalLimit] = true
			c.disarm()
		}, nil},
		{"no verb", order{}, nil, errUnknown},
		{"a verb there is not", order{verb: 12}, nil, errUnknown},
		{"select, with nothing to select", order{verb: VerbSelect}, nil, errUnknown},
		{"reset, cause gone", order{verb: VerbReset},
			func(c *Controller) { c.latched[causeEmergencyStop] = true }, nil},
		{"reset, cause present", order{verb: VerbReset}, func(c *Controller) {
			c.latched[causeEmergencyStop], c.present[causeEmergencyStop] = true, true
		}, errPresent},
		{"reset, a drive's fault", order{verb: VerbReset}, func(c *Controller) {
			c.latched[causeDriveTrip], c.present[causeDriveTrip] = true, true
		}, nil},
		{"reset, relay open", order{verb: VerbReset},
			func(c *Controller) { c.inputs.relayClosed = false }, errPresent},
	}
}

func limitRefusals() []refusal {
	rate := order{verb: VerbRate, axis: 0, value: 1 * deg}
	return []refusal{
		{"beyond the upper limit", order{VerbPosition, 0, 265.1 * deg, 1}, nil, errOutside},
		{"beyond the lower limit", order{VerbPosition, 0, -265.1 * deg, 1}, nil, errOutside},
		{"at the limit", order{VerbPosition, 0, 264.9 * deg, 1}, nil, nil},
		{"outward at the upper pre-limit", rate,
			func(c *Controller) { c.inputs.preLimit[0][1] = true }, errInward},
		{"inward at the lower pre-limit", rate,
			func(c *Controller) { c.inputs.preLimit[0][0] = true }, nil},
		{"outward at the lower pre-limit", order{VerbRate, 0, -deg, 1},
			func(c *Controller) { c.inputs.preLimit[0][0] = true }, errInward},
		{"a target outward of the pre-limit", order{VerbPosition, 0, 20 * deg, 1},
			func(c *Controller) {
				c.inputs.preLimit[0][1] = true
				c.axes[0].position = 10 * deg
			}, errInward},
		{"a target inward of the pre-limit", order{VerbPosition, 0, 5 * deg, 1},
			func(c *Controller) {
				c.inputs.preLimit[0][1] = true
				c.axes[0].position = 10 * deg
			}, nil},
		{"another axis's pre-limit", rate,
			func(c *Controller) { c.inputs.preLimit[1][1] = true }, nil},
		{"a rate for every axis", order{VerbRate, allAxes, deg, 1}, nil, errUnknown},
		{"a fifth axis", order{VerbPosition, 4, 0, 1}, nil, errUnknown},
		{"hold of a fifth axis", order{VerbHold, 4, 0, 1}, nil, errUnknown},
		{"rest of every axis", order{VerbRest, allAxes, 0, 1}, nil, nil},
	}
}

func TestReset_ForgetsAndMovesNothing(t *testing.T) {
	c := ready(t)
	c.move(0, goal{goalRate, deg, deg}, time.Second)
	c.raise(causeEmergencyStop, allAxes, 2*time.Second)
	c.axes[1].phase, c.axes[1].encoderLost = torqueOff, true
	c.axes[0].phase = off
	c.carryOut(order{verb: VerbReset}, 3*time.Second)
	if c.first != causeNone || c.anyLatched() || c.axes[1].encoderLost {
		t.Errorf("first %v, latched %v", c.first, c.latched)
	}
	if c.powered() || c.armed(3*time.Second) {
		t.Error("armed or moving by the reset alone")
	}
	if c.clearDrives == 0 {
		t.Error("the drives keep their faults")
	}
}

// IEC 60204-1: a stop of category 2 keeps the torque on.
func TestStop_OfTheOperatorIsOfCategory2(t *testing.T) {
	c := turning(t, time.Second)
	c.stowing = true
	c.carryOut(order{verb: VerbStop}, time.Second)
	for k := range c.axes {
		if a := &c.axes[k]; a.goal != (goal{}) || a.phase != running {
			t.Errorf("axis %d: goal %+v in phase %d", k, a.goal, a.phase)
		}
	}
	if c.first != causeOperatorStop || c.anyLatched() || !c.armed(time.Second) || c.stowing {
		t.Errorf("cause %v, latched %v, stowing %v", c.first, c.anyLatched(), c.stowing)
	}
	c.carryOut(order{VerbRate, 0, deg, 1}, 2*time.Second)
	if c.first != causeNone {
		t.Errorf("cause %v after a fresh command", c.first)
	}
	c = ready(t)
	c.carryOut(order{verb: VerbStop}, time.Second)
	if c.first != causeNone {
		t.Errorf("cause %v of a stop at rest", c.first)
	}
}

// The station hears the horn for as long as it is set: outputs take two cycles.
func TestArm_HornThenWindow(t *testing.T) {
	c := ready(t)
	c.carryOut(order{verb: VerbArm}, 10*time.Second)
	from := 10*time.Second + c.set.Timing.Horn + 2*c.set.Timing.Cycle
	for at, want := range map[time.Duration]bool{from - 1: false, from: true,
		from + c.set.Timing.ArmedWindow - 1: true, from + c.set.Timing.ArmedWindow: false} {
		if c.armed(at) != want {
			t.Errorf("armed %v at %v", !want, at)
		}
		if sounds := c.composeOutputs(at).horn; sounds != (at < from) {
			t.Errorf("at %v the horn sounds: %v", at, sounds)
		}
	}
}

// Which axes each command moves, and to what.
func TestCarryOut_AxesAndGoals(t *testing.T) {
	full := float64(testAxis().FullRate)
	for _, one := range []struct {
		order   order
		started [AxisCount]bool
		goal    goal // of elevation
	}{
		{order{verb: VerbStart}, [AxisCount]bool{true, true, false, false}, goal{}},
		{order{VerbPosition, 1, 30 * deg, 1}, [AxisCount]bool{1: true},
			goal{goalPosition, 30 * deg, full}},
		{order{VerbRate, 1, -9 * full, 1}, [AxisCount]bool{1: true}, goal{goalRate, -full, full}},
		{order{verb: VerbStow}, [AxisCount]bool{1: true}, goal{goalPosition, 80 * deg, full}},
	} {
		c := ready(t)
		c.set.Stow = 80 * deg
		c.carryOut(one.order, time.Second)
		for k := range c.axes {
			if c.axes[k].started() != one.started[k] {
				t.Errorf("%+v: axis %d started %v", one.order, k, !one.started[k])
			}
		}
		if c.axes[1].goal != one.goal {
			t.Errorf("%+v: goal %+v", one.order, c.axes[1].goal)
		}
	}
}

func TestMove_ClampsToFullRate(t *testing.T) {
	c := ready(t)
	c.carryOut(order{VerbRate, 0, 99 * deg, 1}, time.Second)
	if got := c.axes[0].goal.value; got != float64(c.axes[0].set.FullRate) {
		t.Errorf("%g rad/s asked of the axis", got)
	}
}

// Recovery from a final limit (common practice): maintained key, hold-to-run, at most a tenth
// of full rate, inward only, that one cause.
func TestHand_RecoveryFromAFinalLimit(t *testing.T) {
	for _, one := range []struct {
		name      string
		direction int
		set       func(*Controller)
		moves     bool
	}{
		{"inward with the key", -1, nil, true},
		{"outward with the key", 1, nil, false},
		{"inward without the key", -1, func(c *Controller) { c.inputs.override = false }, false},
		{"in remote", -1, func(c *Controller) { c.inputs.mode = modeRemote }, false},
		{"not enabled", -1, func(c *Controller) { c.inputs.enabling = false }, false},
		{"with its stow pin in", -1, func(c *Controller) { c.inputs.pin[0] = true }, false},
		{"outward once the switch has closed again", 1,
			func(c *Controller) { c.inputs.finalLimit[0][1], c.pastFinal[0][1] = false, true }, false},
		{"outward at a pre-limit", 1, func(c *Controller) {
			c.inputs.finalLimit[0][1], c.inputs.preLimit[0][1] = false, true
		}, false},
		{"with another cause latched", -1,
			func(c *Controller) { c.latched[causeEmergencyStop] = true }, false},
	} {
		c := ready(t)
		c.inputs.mode, c.inputs.override, c.inputs.enabling = modeLocal, true, true
		c.inputs.handDirection = one.direction
		c.inputs.finalLimit[0][1], c.latched[causeFinalLimit] = true, true
		if one.set != nil {
			one.set(c)
		}
		c.followPanel(2 * time.Second)
		if c.powered() != one.moves {
			t.Errorf("%s: moves %v", one.name, c.powered())
		}
		if rate := math.Abs(c.axes[0].goal.value); one.moves && rate > 0.1*c.fullRate(0) {
			t.Errorf("%s: at %g of full rate", one.name, rate/c.fullRate(0))
		}
	}
}

func TestHand_StopsWhenReleased(t *testing.T) {
	c := ready(t)
	c.inputs.mode, c.inputs.enabling, c.inputs.handDirection = modeLocal, true, 1
	c.followPanel(2 * time.Second)
	c.axes[0].enter(running, 2*time.Second)
	c.axes[0].ref.rate = deg
	c.inputs.enabling = false
	c.followPanel(2020 * ms)
	if c.axes[0].phase != ramping || c.first != causeHandReleased || c.anyLatched() {
		t.Errorf("phase %d, cause %v", c.axes[0].phase, c.first)
	}
}

// The partner of a drive that left its state goes with it (common practice).
func TestSuperviseOrder_PartnerGoesToo(t *testing.T) {
	c := ready(t)
	a := &c.axes[0]
	a.phase = running
	for m := range a.motors {
		a.motors[m] = driveStatus{heard: true, decoded: true, state: cia402.OperationEnabled}
	}
	c.superviseOrder(0, time.Second)
	if a.phase != running {
		t.Fatalf("phase %d with both drives enabled", a.phase)
	}
	a.motors[1].state = cia402.SwitchOnDisabled
	c.superviseOrder(0, time.Second)
	a.cycle(time.Second, testCycle)
	if a.phase != torqueOff || a.out[0].word != cia402.CommandDisableVoltage {
		t.Errorf("phase %d, partner is sent %#04x", a.phase, a.out[0].word)
	}
}
