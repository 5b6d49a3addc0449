package standin

import "time"

// Positions of the mode selector, as the interlock unit numbers them.
const (
	modeRemote = iota
	modeLocal
	modeMaintenance
)

// interlockInputs is what the interlock unit said in its last answer.
type interlockInputs struct {
	preLimit, finalLimit [MainAxes][2]bool
	brakeSet             [MotorCount]bool
	emergencyStop        bool // either channel
	accessOpen           bool // hatch, ladder or a pin
	pin                  [MainAxes]bool
	mode                 int
	handAxis             int
	handDirection        int
	enabling             bool
	override             bool
	relayClosed          bool
	unitWatchdog         bool
}

// The names of axes, ends and motors in the interlock unit's quantities.
func axisNames() [AxisCount]string {
	return [AxisCount]string{"azimuth", "elevation", "polarization_h", "polarization_v"}
}

func motorNames() [MotorCount]string {
	return [MotorCount]string{"azimuth_1", "azimuth_2", "elevation_1", "elevation_2",
		"polarization_h_1", "polarization_v_1"}
}

// Where each block stands in the list that interlockReads gives.
const (
	readPreLimit  = 0
	readFinal     = readPreLimit + 2*MainAxes
	readBrakes    = readFinal + 2*MainAxes
	readChannels  = readBrakes + MotorCount
	readAccess    = readChannels + 2
	readHand      = readAccess + 4
	readEnabling  = readHand + 2*AxisCount
	readOverride  = readEnabling + 1
	readMode      = readOverride + 1
	readInstant   = readMode + 1
	readWatchdog  = readInstant + 1
	writeEnable   = 0
	writeRelease  = writeEnable + AxisCount
	writeHorn     = writeRelease + MotorCount
	writeHeart    = writeHorn + 1
	handPositions = 2
)

func interlockReads() []string {
	var q []string
	names := axisNames()
	for _, what := range []string{"pre_limit_", "final_limit_"} {
		for _, axis := range names[:MainAxes] {
			q = append(q, what+axis+"_lower", what+axis+"_upper")
		}
	}
	for _, motor := range motorNames() {
		q = append(q, "brake_feedback_"+motor)
	}
	q = append(q, "emergency_stop_channel_1", "emergency_stop_channel_2",
		"hatch", "ladder", "pin_azimuth", "pin_elevation")
	for _, axis := range axisNames() {
		q = append(q, "hand_"+axis+"_negative", "hand_"+axis+"_positive")
	}
	return append(q, "enabling_device", "override_key", "mode", "relay_instant_contact",
		"watchdog_tripped")
}

func interlockWrites() []string {
	var q []string
	for _, axis := range axisNames() {
		q = append(q, "enable_"+axis)
	}
	for _, motor := range motorNames() {
		q = append(q, "brake_release_"+motor)
	}
	return append(q, "horn", "heartbeat")
}

// takeInterlock sorts the unit's bits.
func (c *Controller) takeInterlock() {
	on := func(i int) bool { return c.interlock.client.Value(i) != 0 }
	s := &c.inputs
	for a := range MainAxes {
		for end := range 2 {
			s.preLimit[a][end] = on(readPreLimit + 2*a + end)
			s.finalLimit[a][end] = on(readFinal + 2*a + end)
		}
	}
	for m := range s.brakeSet {
		s.brakeSet[m] = on(readBrakes + m)
	}
	s.emergencyStop = on(readChannels) || on(readChannels+1)
	s.accessOpen = on(readAccess) || on(readAccess+1) || on(readAccess+2) || on(readAccess+3)
	s.pin = [MainAxes]bool{on(readAccess + 2), on(readAccess + 3)}
	s.handDirection = 0
	for a := range AxisCount {
		for k := range handPositions {
			if on(readHand + 2*a + k) {
				s.handAxis, s.handDirection = a, 2*k-1
			}
		}
	}
	s.enabling, s.override = on(readEnabling), on(readOverride)
	s.mode = int(c.interlock.client.Value(readMode))
	s.relayClosed = on(readInstant)
	s.unitWatchdog = on(readWatchdog)
}

// outputs are the interlock unit's outputs.
type outputs struct {
	enable  [AxisCount]bool
	release [MotorCount]bool
	horn    bool
}

// composeOutputs is what the interlock unit is to put out after this cycle.
func (c *Controller) composeOutputs(now time.Duration) outputs {
	o := outputs{horn: now < c.hornUntil}
	for k := range c.axes {
		a := &c.axes[k]
		o.enable[k] = a.enable
		o.setRelease(k, a.release)
	}
	return o
}

// setRelease releases or applies the brakes of an axis.
func (o *outputs) setRelease(axis int, release bool) {
	first, count := motorsOf(axis)
	for m := range count {
		o.release[first+m] = release
	}
}

// setOutputs hands the outputs to the unit's next exchange and reports whether any has
// changed.
func (c *Controller) setOutputs() bool {
	put := func(i int, on bool) {
		v := 0.0
		if on {
			v = 1
		}
		c.interlock.client.Set(i, v)
	}
	for k, on := range c.outputs.enable {
		put(writeEnable+k, on)
	}
	for m, on := range c.outputs.release {
		put(writeRelease+m, on)
	}
	put(writeHorn, c.outputs.horn)
	c.interlock.client.Set(writeHeart, float64(c.cycles%heartbeatWrap))
	changed := c.outputs != c.sent
	c.sent = c.outputs
	return changed
}

// heartbeatWrap keeps the heartbeat within a 16-bit register.
const heartbeatWrap = 1 << 16
