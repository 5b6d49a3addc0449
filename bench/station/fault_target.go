package station

import (
	"strconv"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
)

// What faults are done to, with an example of each.

func onStation() fault.On { // station
	return fault.On{Words: "the station", All: func() []fault.Target {
		return []fault.Target{{Name: "station"}}
	}}
}

func onAxis() fault.On { return fault.On{Words: "an axis", All: axes} } // azimuth

func onMainAxis() fault.On { // azimuth, elevation
	return fault.On{Words: "a main axis", All: func() []fault.Target {
		return axes()[:plant.MainAxes]
	}}
}

func onEnd() fault.On { // azimuth.upper
	return fault.On{Words: "an end of a main axis", All: func() (all []fault.Target) {
		for axis, name := range plant.AxisNames[:plant.MainAxes] {
			for end, endName := range plant.EndNames {
				all = append(all, fault.Target{Name: name + "." + endName, Axis: axis, End: end})
			}
		}
		return all
	}}
}

func onMotor() fault.On { // azimuth.1
	return fault.On{Words: "a motor", All: func() (all []fault.Target) {
		for motor, name := range plant.MotorNames {
			all = append(all, fault.Target{Name: name, Motor: motor})
		}
		return all
	}}
}

func onChannel() fault.On { // emergency_stop.1
	return fault.On{Words: "a channel of the emergency stop", All: func() (all []fault.Target) {
		for channel := range 2 {
			all = append(all, fault.Target{Channel: channel,
				Name: "emergency_stop." + strconv.Itoa(channel+1)})
		}
		return all
	}}
}

func onDevice() fault.On { // azimuth.encoder, azimuth.1.drive, interlock, mast
	return fault.On{Words: "a device", All: func() []fault.Target {
		return devicesThat(func(Kind) bool { return true })
	}}
}

// onPolled leaves out devices that speak by themselves.
func onPolled() fault.On {
	return fault.On{Words: "a device that is polled", All: func() []fault.Target {
		return devicesThat(func(k Kind) bool { return !k.Unasked })
	}}
}

func onInterlock() fault.On { return onRole(RoleInterlock, "the interlock unit") }

func onMast() fault.On { return onRole(RoleMast, "the weather mast") }

func onRole(role Role, words string) fault.On {
	return fault.On{Words: words, All: func() []fault.Target {
		return devicesThat(func(k Kind) bool { return k.Role == role })
	}}
}

func axes() (all []fault.Target) {
	for axis, name := range plant.AxisNames {
		all = append(all, fault.Target{Name: name, Axis: axis})
	}
	return all
}

func devicesThat(are func(Kind) bool) (all []fault.Target) {
	for _, d := range Devices() {
		if are(d.Role.Kind()) {
			all = append(all, fault.Target{Name: d.String(),
				Device: fault.Device{Role: string(d.Role), Index: d.Index}})
		}
	}
	return all
}

// deviceOf is the device that a target is; false for one that is none.
func deviceOf(t fault.Target) (Device, bool) {
	return Device{Role(t.Device.Role), t.Device.Index}, t.Device.Role != ""
}

// needSeat wants a device on the network.
func (p *Parameters) needSeat(d Device) error {
	if p.Seat(d.Role, d.Index) == nil {
		return p.lacks(d.String() + " on its network")
	}
	return nil
}
