package fault

import (
	"fmt"
	"strconv"
)

// Role is what a device on the network is.
type Role int

// Roles of devices.
const (
	Encoder Role = iota
	Drive
	Interlock
	Mast
)

// Device is one device on the network: Index is the axis of an encoder, the
// motor of a drive, and 0 of the interlock unit and of the weather mast.
type Device struct {
	Role  Role
	Index int
}

// On says what kind of thing a fault is done to.
type On int

// Kinds of targets, with an example of each.
const (
	OnStation   On = iota // station
	OnAxis                // azimuth
	OnEnd                 // azimuth.upper, main axes only
	OnMotor               // azimuth.1
	OnChannel             // emergency_stop.1
	OnInterlock           // interlock
	OnDevice              // azimuth.encoder, azimuth.1.drive, interlock, mast
	OnMast                // mast, the weather mast
	OnMainAxis            // azimuth or elevation
	OnPolled              // a device but the mast, which nobody polls
	onCount
)

// String is the kind in words.
func (o On) String() string {
	return [onCount]string{"the station", "an axis", "an end of a main axis", "a motor",
		"a channel of the emergency stop", "the interlock unit", "a device",
		"the weather mast", "a main axis", "a device that is polled"}[o]
}

// Targets are the names of everything of this kind, in order.
func (o On) Targets() []string {
	var names []string
	for _, t := range o.all() {
		names = append(names, t.name)
	}
	return names
}

// target is one thing by name, with the indices of what it is.
type target struct {
	name                      string
	axis, end, motor, channel int
	device                    Device
}

const mainAxes = 2

func axisNames() []string {
	return []string{"azimuth", "elevation", "polarization_h", "polarization_v"}
}

func endNames() []string { return []string{"lower", "upper"} }

// motorNames in axis order: two of each main axis, one of the others.
func motorNames() []string {
	var names []string
	for axis, name := range axisNames() {
		names = append(names, name+".1")
		if axis < mainAxes {
			names = append(names, name+".2")
		}
	}
	return names
}

func (o On) all() []target {
	var all []target
	switch o {
	case OnStation:
		all = append(all, target{name: "station"})
	case OnAxis:
		for axis, name := range axisNames() {
			all = append(all, target{name: name, axis: axis})
		}
	case OnEnd:
		for axis, name := range axisNames()[:mainAxes] {
			for end, endName := range endNames() {
				all = append(all, target{name: name + "." + endName, axis: axis, end: end})
			}
		}
	case OnMotor:
		for motor, name := range motorNames() {
			all = append(all, target{name: name, motor: motor})
		}
	case OnChannel:
		for channel := range 2 {
			name := "emergency_stop." + strconv.Itoa(channel+1)
			all = append(all, target{name: name, channel: channel})
		}
	case OnInterlock:
		all = append(all, interlockUnit())
	case OnDevice:
		all = append(polled(), weatherMast())
	case OnPolled:
		all = polled()
	case OnMainAxis:
		return OnAxis.all()[:mainAxes]
	case OnMast:
		all = append(all, weatherMast())
	}
	return all
}

func polled() []target {
	var all []target
	for axis, name := range axisNames() {
		all = append(all, target{name: name + ".encoder", device: Device{Encoder, axis}})
	}
	for motor, name := range motorNames() {
		all = append(all, target{name: name + ".drive", device: Device{Drive, motor}})
	}
	return append(all, interlockUnit())
}

func interlockUnit() target {
	return target{name: "interlock", device: Device{Role: Interlock}}
}

func weatherMast() target { return target{name: "mast", device: Device{Role: Mast}} }

// find is the target of this kind and name.
func (o On) find(name string) (target, error) {
	for _, t := range o.all() {
		if t.name == name {
			return t, nil
		}
	}
	return target{}, fmt.Errorf("%q is not %s%s", name, o, suggest(name, o.Targets()))
}
