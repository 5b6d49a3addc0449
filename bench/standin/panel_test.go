package standin

import (
	"slices"
	"testing"
	"time"
)

// Each input of the interlock unit arrives where the controller looks for it, and
// nowhere else.
func TestTakeInterlock_EachInput(t *testing.T) {
	pins := func(el bool) func(*interlockInputs) {
		return func(in *interlockInputs) { in.accessOpen, in.pin = true, [MainAxes]bool{!el, el} }
	}
	for name, want := range map[string]func(*interlockInputs){
		"pre_limit_azimuth_lower":     func(in *interlockInputs) { in.preLimit[0][0] = true },
		"pre_limit_elevation_upper":   func(in *interlockInputs) { in.preLimit[1][1] = true },
		"final_limit_azimuth_upper":   func(in *interlockInputs) { in.finalLimit[0][1] = true },
		"final_limit_elevation_lower": func(in *interlockInputs) { in.finalLimit[1][0] = true },
		"brake_feedback_azimuth_2":    func(in *interlockInputs) { in.brakeSet[1] = true },
		"brake_feedback_elevation_1":  func(in *interlockInputs) { in.brakeSet[2] = true },
		"emergency_stop_channel_1":    func(in *interlockInputs) { in.emergencyStop = true },
		"emergency_stop_channel_2":    func(in *interlockInputs) { in.emergencyStop = true },
		"hatch":                       func(in *interlockInputs) { in.accessOpen = true },
		"ladder":                      func(in *interlockInputs) { in.accessOpen = true },
		"pin_azimuth":                 pins(false),
		"pin_elevation":               pins(true),
		"hand_azimuth_negative":       func(in *interlockInputs) { in.handDirection = -1 },
		"hand_polarization_v_positive": func(in *interlockInputs) {
			in.handAxis, in.handDirection = 3, 1
		},
		"enabling_device":       func(in *interlockInputs) { in.enabling = true },
		"override_key":          func(in *interlockInputs) { in.override = true },
		"mode":                  func(in *interlockInputs) { in.mode = modeLocal },
		"relay_instant_contact": func(in *interlockInputs) { in.relayClosed = true },
		"watchdog_tripped":      func(in *interlockInputs) { in.unitWatchdog = true },
	} {
		c := newRig(t).c
		id := slices.Index(interlockReads(), name)
		if id < 0 {
			t.Errorf("%s is not read", name)
			continue
		}
		answerOf(t, c.interlock, id, 1)
		c.takeInterlock()
		var expected interlockInputs
		want(&expected)
		if c.inputs != expected {
			t.Errorf("%s: read as %+v", name, c.inputs)
		}
	}
}

func TestCompose_OutputsOfEachAxis(t *testing.T) {
	c := newRig(t).c
	c.hornUntil = time.Second
	c.axes[0].enable = true
	c.axes[1].release = true
	c.axes[3].enable, c.axes[3].release = true, true
	want := outputs{enable: [AxisCount]bool{0: true, 3: true},
		release: [MotorCount]bool{2: true, 3: true, 5: true}, horn: true}
	if got := c.composeOutputs(999 * ms); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if c.composeOutputs(time.Second).horn {
		t.Error("the horn sounds beyond its time")
	}
	c.outputs = want
	if !c.setOutputs() || c.setOutputs() {
		t.Error("a change is sent at once, and once")
	}
}
