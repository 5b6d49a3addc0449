package station

import (
	"slices"
	"time"

	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/drive"
	"haltmark/emulators/encoder"
	"haltmark/emulators/interlock"
	"haltmark/emulators/registers"
	"haltmark/emulators/weather"
)

// Seat is the place of a device on the network. Every seat is emulated, and a device
// without one is absent; where a real device's traffic passes through the bench, its seat
// will be told apart here as relayed.
type Seat struct {
	Device
	Name     string
	Endpoint link.Endpoint
	Unit     byte          // where its protocol has any, as with the rest
	Map      registers.Map // the zero value where there is none
	Gear     float64       // motor turns per axis turn; 1 where the map needs none
}

// Drive is the drive of a motor.
type Drive struct {
	drive.Parameters
	// Servo makes this and the axis's other motor one servo unit. Both say so, with
	// the same seat and each with the parameters of its own motor; whoever believes
	// in two drives meets the one unit behind both.
	Servo bool
	Bias  quantity.Torque // of a servo unit, which makes it inside
}

// Standstill is what counts as standing still on an axis: motor-side speed
// below Rate for Hold.
type Standstill struct {
	Rate quantity.Rate
	Hold time.Duration
}

// Wiring says which contacts stand in the enable chain of each axis, and which ones
// select safe functions of its drives.
type Wiring struct {
	FinalLimit [plant.AxisCount]bool // its final limits act on its own STO
	Isolator   [plant.AxisCount]bool
	Safe       []SafeInput // beside SS1, which the relay selects on every drive
}

// Parameters is a whole station as it is assembled.
type Parameters struct {
	Name       string
	Plant      plant.Parameters
	Seats      []Seat // of the devices on the network, in the order of Devices
	Encoders   [plant.AxisCount]encoder.Parameters
	Drives     [plant.MotorCount]Drive
	Interlock  interlock.Parameters
	Mast       weather.Parameters // where it has a seat
	Standstill [plant.AxisCount]Standstill
	FullRate   [plant.AxisCount]quantity.Rate
	Wiring     Wiring
	// External is the torque that unbalance and a constant wind, each axis at its
	// worst attitude, put on each axis; Wind is that wind's speed.
	External [plant.AxisCount]quantity.Torque
	Wind     quantity.Speed
	Supply   quantity.Ratio  // voltage of every drive over the nominal; 0 means 1
	Dish     quantity.Length // diameter; winds that follow the attitude act on it
	// Weather, if not nil, blows instead of that wind.
	Weather *Weather
	// StowWind is where the wind asks for the stow attitude.
	StowWind StowWind
	Survival quantity.Speed // the antenna is built for no more
}

// Seat is that of a device, nil where it is absent.
func (p *Parameters) Seat(role Role, index int) *Seat {
	i := slices.IndexFunc(p.Seats, func(s Seat) bool { return s.Device == Device{role, index} })
	if i < 0 {
		return nil
	}
	return &p.Seats[i]
}

// StowWind are the limits of the wind, over 10 min and over 3 s; zero is none.
type StowWind struct{ Mean, Gust quantity.Speed }
