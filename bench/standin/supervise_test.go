package standin

import (
	"testing"
	"time"

	"haltmark/emulators/cia402"
)

func TestPersists_CountsFromTheFirst(t *testing.T) {
	var since time.Duration
	for _, step := range []struct {
		at       time.Duration
		deviates bool
		want     bool
	}{
		{1000 * ms, true, false},
		{1280 * ms, true, false},
		{1300 * ms, true, true},
		{1320 * ms, true, true},
		{1340 * ms, false, false}, // one good reading starts it afresh
		{1360 * ms, true, false},
		{1640 * ms, true, false},
		{1660 * ms, true, true},
	} {
		if got := persists(&since, step.deviates, step.at, 300*ms); got != step.want {
			t.Errorf("at %v: %v", step.at, got)
		}
	}
	if since = 0; !persists(&since, true, time.Second, 0) {
		t.Error("a deviation without a time waits")
	}
}

// Common practice: the first cause is kept; a cause that only names the end of
// a motion gives way to one that latches.
func TestRaise_FirstCauseIsKept(t *testing.T) {
	for _, one := range []struct {
		name   string
		raised []cause
		want   cause
	}{
		{"what follows from it", []cause{causeEmergencyStop, causeDriveTrip}, causeEmergencyStop},
		{"and again", []cause{causeDriveTrip, causeEmergencyStop, causeDriveTrip}, causeDriveTrip},
		{"latching after naming", []cause{causeSoftwareLimit, causeFinalLimit}, causeFinalLimit},
		{"naming after latching", []cause{causeFinalLimit, causeOperatorStop}, causeFinalLimit},
		{"naming after naming", []cause{causePreLimit, causeOperatorStop}, causePreLimit},
	} {
		c := ready(t)
		for i, what := range one.raised {
			c.raise(what, i%AxisCount, time.Second)
		}
		if c.first != one.want {
			t.Errorf("%s: %v, want %v", one.name, c.first, one.want)
		}
		for what := cause(1); what < causeCount; what++ {
			raised := false
			for _, r := range one.raised {
				raised = raised || r == what
			}
			if c.latched[what] != (raised && what.latches()) {
				t.Errorf("%s: %v latched %v", one.name, what, c.latched[what])
			}
		}
	}
}

// The stop table, one cause at a time, all four axes turning.
func TestSupervise_StopTable(t *testing.T) {
	const now = supervised
	for _, one := range append(stopTable(), deviceRows()...) {
		c := turning(t, now)
		one.set(c)
		c.superviseAll(now)
		if c.first != one.want || (one.want != causeNone && c.firstAxis != one.on) {
			t.Errorf("%s: cause %v on axis %d, want %v on %d", one.name, c.first, c.firstAxis,
				one.want, one.on)
		}
		if c.axes[0].phase != one.own || c.axes[1].phase != one.other {
			t.Errorf("%s: phases %d and %d, want %d and %d", one.name, c.axes[0].phase,
				c.axes[1].phase, one.own, one.other)
		}
		if stopped := one.want.latches() && one.other == ramping; c.armed(now) == stopped {
			t.Errorf("%s: armed %v", one.name, c.armed(now))
		}
	}
}

// supervised is the instant at which causes are looked for.
const supervised = 10 * time.Second

type stopRow struct {
	name       string
	set        func(*Controller)
	want       cause
	on         int
	own, other phase // of azimuth and of elevation
}

func trip(c *Controller) { c.axes[0].motors[0].state = cia402.Fault }

func stopTable() []stopRow {
	const now = supervised
	return []stopRow{
		{"nothing", func(*Controller) {}, causeNone, 0, running, running},
		{"emergency stop", func(c *Controller) { c.inputs.emergencyStop = true },
			causeEmergencyStop, allAxes, ramping, ramping},
		{"hatch", func(c *Controller) { c.inputs.accessOpen, c.inputs.relayClosed = true, false },
			causeAccessOpened, allAxes, ramping, ramping},
		{"mode", func(c *Controller) { c.inputs.mode = modeLocal },
			causeModeChanged, allAxes, ramping, ramping},
		{"interlock unit silent", func(c *Controller) { c.interlock.heard = now - 100*ms },
			causeInterlockSilent, allAxes, ramping, ramping},
		{"final limit", func(c *Controller) { c.inputs.finalLimit[0][1] = true },
			causeFinalLimit, 0, torqueOff, ramping},
		{"pre-limit ahead", func(c *Controller) { c.inputs.preLimit[0][1] = true },
			causePreLimit, 0, running, running},
		{"pre-limit behind", func(c *Controller) { c.inputs.preLimit[0][0] = true },
			causeNone, 0, running, running},
		{"emergency stop and a trip", func(c *Controller) { c.inputs.emergencyStop = true; trip(c) },
			causeEmergencyStop, allAxes, torqueOff, ramping},
	}
}

// deviceRows are those about drives, encoders and brakes.
func deviceRows() []stopRow {
	const now = supervised
	return []stopRow{
		{"drive trips", trip, causeDriveTrip, 0, torqueOff, ramping},
		{"drive tells nonsense", func(c *Controller) { c.axes[0].motors[1].decoded = false },
			causeDriveTrip, 0, torqueOff, ramping},
		{"drive silent", func(c *Controller) { c.drives[1].heard = now - 100*ms },
			causeDriveSilent, 0, torqueOff, ramping},
		{"drive late", func(c *Controller) { c.drives[1].heard = now - 99*ms },
			causeNone, 0, running, running},
		{"encoder silent", func(c *Controller) { c.encoders[0].heard = now - 100*ms },
			causeEncoderLost, 0, ramping, ramping},
		{"encoder alarm", func(c *Controller) { c.encoders[0].alarm = true },
			causeEncoderLost, 0, ramping, ramping},
		{"encoder jumps", func(c *Controller) { c.encoders[0].jumps = 2 },
			causeEncoderDoubted, 0, ramping, ramping},
		{"one odd reading", func(c *Controller) { c.encoders[0].jumps = 1 },
			causeNone, 0, running, running},
		{"overspeed", func(c *Controller) {
			rate := 1.16 * c.fullRate(0)
			c.axes[0].motors[0].rate, c.axes[0].motors[1].rate = rate, rate
			c.axes[0].rate = rate
		}, causeOverspeed, 0, torqueOff, ramping},
		{"overspeed of one motor", func(c *Controller) {
			c.axes[0].motors[1].rate = -1.16 * c.fullRate(0)
		}, causeOverspeed, 0, torqueOff, ramping},
		{"unit's watchdog", func(c *Controller) { c.inputs.unitWatchdog = true },
			causeControllerSilent, allAxes, ramping, ramping},
		{"supply lost", func(c *Controller) {
			trip(c)
			c.axes[0].motors[0].code = cia402.ErrorMainsUnder
		}, causeSupplyLost, 0, torqueOff, ramping},
		{"supply lost, the drive ramps", func(c *Controller) {
			for m := range c.axes[0].motors {
				c.axes[0].motors[m].state = cia402.FaultReactionActive
				c.axes[0].motors[m].code = cia402.ErrorMainsUnder
			}
		}, causeSupplyLost, 0, ramping, ramping},
		{"torque not proved", func(c *Controller) { c.axes[0].failed = causeTorqueUnproved },
			causeTorqueUnproved, 0, torqueOff, ramping},
		{"brakes not seen released", func(c *Controller) { c.axes[0].failed = causeBrakeFeedback },
			causeBrakeFeedback, 0, ramping, ramping},
		{"brakes not seen set", func(c *Controller) {
			c.axes[0].phase, c.axes[0].failed = applying, causeBrakeFeedback
		}, causeBrakeFeedback, 0, applying, running},
	}
}

// turning is a controller with every axis moving towards its upper end and every
// device heard.
func turning(t *testing.T, now time.Duration) *Controller {
	c := ready(t)
	c.interlock.heard = now
	for _, d := range c.drives {
		d.heard = now
	}
	for k := range c.axes {
		c.encoders[k].heard = now
		a := &c.axes[k]
		rate := float64(a.set.FullRate)
		a.phase, a.goal = running, goal{goalRate, rate, rate}
		a.ref.rate, a.rate = rate, rate
		for m := range a.motors {
			a.motors[m] = driveStatus{heard: true, decoded: true, rate: rate,
				state: cia402.OperationEnabled}
			a.out[m].rate = rate
		}
	}
	return c
}

// Who turns the selector takes the motion over: what was armed is armed no longer.
func TestSupervise_ModeChangeAtRestDisarms(t *testing.T) {
	c := ready(t)
	c.inputs.mode = modeMaintenance
	c.superviseInterlock(0)
	if c.armed(checked) || c.first != causeNone {
		t.Errorf("armed %v, cause %v", c.armed(checked), c.first)
	}
}

func TestSupervise_DeviationsThatPersist(t *testing.T) {
	for _, one := range []struct {
		name string
		set  func(*Controller)
		want cause
		in   time.Duration
		own  phase
	}{
		{"encoder stands still", func(c *Controller) { c.axes[0].rate = 0 },
			causeEncoderDoubted, 300 * ms, ramping},
		{"encoder counts backwards", func(c *Controller) { c.axes[0].rate *= -1 },
			causeEncoderDoubted, 300 * ms, ramping},
		{"following error", func(c *Controller) { c.axes[0].ref.position = 0.6 * deg },
			causeFollowingError, 500 * ms, ramping},
		{"motors apart", func(c *Controller) { c.axes[0].motors[1].rate -= 0.4 * deg },
			causeRunaway, 300 * ms, torqueOff},
		{"motors do not obey", func(c *Controller) {
			for m := range c.axes[0].out {
				c.axes[0].out[m].rate -= 0.31 * c.fullRate(0)
			}
		}, causeRunaway, 340 * ms, torqueOff},
		{"motors apart by a brake", func(c *Controller) {
			c.axes[0].motors[1].rate -= 0.4 * deg
			c.axes[0].motors[1].brakeSet = true
		}, causeBrakeFeedback, 300 * ms, ramping},
		{"brake seen set", func(c *Controller) { c.axes[0].motors[0].brakeSet = true },
			causeBrakeFeedback, 500 * ms, ramping},
	} {
		const start = 10 * time.Second
		c := turning(t, start)
		one.set(c)
		for at := start; ; at += 20 * ms {
			c.interlock.heard = at
			for _, d := range c.drives {
				d.heard = at
			}
			for k := range c.encoders {
				c.encoders[k].heard = at
			}
			c.superviseAll(at)
			if c.first == causeNone && at-start < time.Second {
				continue
			}
			if c.first != one.want || at-start != one.in || c.axes[0].phase != one.own {
				t.Errorf("%s: %v after %v in phase %d, want %v after %v in phase %d", one.name,
					c.first, at-start, c.axes[0].phase, one.want, one.in, one.own)
			}
			break
		}
	}
}

// Common practice: a step of less than half the range is taken the short way.
func TestTakePosition_UnwrapsAndKeepsJumpsOut(t *testing.T) {
	c := ready(t)
	total := float64(c.axes[0].set.EncoderCounts)
	angle := float64(c.axes[0].set.EncoderCountAngle)
	e := &c.encoders[0]
	read := func(counts float64) {
		e.fresh = true
		e.heard += 20 * ms
		answerOf(t, e.device, 0, counts)
		c.takePosition(0, testCycle)
	}
	read(total - 5)
	before := c.axes[0].position
	read(3)
	if moved := (c.axes[0].position - before) / angle; moved < 7.99 || moved > 8.01 {
		t.Errorf("past the wrap the axis moved by %g counts, want 8", moved)
	}
	at := c.axes[0].position
	read(total / 3)
	if e.jumps != 1 || c.axes[0].position != at {
		t.Errorf("a jump was followed to %g", c.axes[0].position)
	}
	for k := range goodReadings {
		if read(4); (e.jumps == 0) != (k == goodReadings-1) {
			t.Errorf("%d jumps after %d good readings", e.jumps, k+1)
		}
	}
}
