package station

import (
	"time"

	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/drive"
	"haltmark/emulators/encoder"
	"haltmark/emulators/interlock"
	"haltmark/emulators/registers"
)

// Seat is the place of one device on the network. Every seat is emulated; the
// relayed and the absent ones of the design will be told apart here.
type Seat struct {
	Name     string
	Endpoint link.Endpoint
	Unit     byte
	Map      registers.Map
	Gear     float64 // motor turns per axis turn; 1 where the map needs none
}

// Encoder is a position encoder and its seat.
type Encoder struct {
	Seat Seat
	encoder.Parameters
}

// Drive is a motor drive and its seat.
type Drive struct {
	Seat Seat
	drive.Parameters
	// Servo makes this and the axis's other motor one servo unit. Both say so, with
	// the same seat and each with the parameters of its own motor; whoever believes
	// in two drives meets the one unit behind both.
	Servo bool
	Bias  quantity.Torque // of a servo unit, which makes it inside
}

// Interlock is the interlock unit and its seat.
type Interlock struct {
	Seat Seat
	interlock.Parameters
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
	Encoders   [plant.AxisCount]Encoder
	Drives     [plant.MotorCount]Drive
	Interlock  Interlock
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
	// Mast is the weather mast on the network; nil for none there.
	Mast *Mast
}

// StowWind are the limits of the wind, over 10 min and over 3 s; nought is none.
type StowWind struct{ Mean, Gust quantity.Speed }
