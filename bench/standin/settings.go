package standin

import (
	"time"

	"haltmark/bench/link"
	"haltmark/bench/quantity"
	"haltmark/emulators/registers"
)

// AxisCount is the number of axes, in the order azimuth, elevation,
// polarization H, polarization V.
const AxisCount = 4

// MainAxes is how many of them have limit switches, two motors and brakes.
const MainAxes = 2

// MotorCount is the number of motors: two for each main axis, one for each
// polarization axis, in axis order.
const MotorCount = 6

// Settings is what an engineer enters in this controller at a station.
type Settings struct {
	Axes   [AxisCount]AxisSettings
	Timing Timing
	Stow   quantity.Angle // elevation to drive to; azimuth stays where it is
	Wind   WindSettings
	Kept   *Kept // what outlives a restart; nil makes a new one
}

// Kept is the controller's memory that outlives its power: the last motion of
// each axis in rad or rad/s. It is kept for the operators; the
// controller never acts on it.
type Kept struct {
	Moves [AxisCount]Move `json:"moves"`
}

// Move is one motion as it was commanded.
type Move struct {
	Kind  string  `json:"kind"` // "", "rate" or "position"
	Value float64 `json:"value"`
}

// Timing holds the spans that all axes share, with the figures of the demo station.
type Timing struct {
	Cycle         time.Duration // control cycle, 20 ms
	Silence       time.Duration // a device unheard for this long is lost, 100 ms
	Horn          time.Duration // warning before the first motion, 5 s
	ArmedWindow   time.Duration // arming lapses after this without motion, 10 s
	BrakeFeedback time.Duration // brakes owe their feedback within this, 0.5 s
}

// WindSettings say when the antenna drives to stow by itself. They mean nothing
// without a mast.
type WindSettings struct {
	Mean quantity.Speed // over 10 min
	Gust quantity.Speed // over 3 s
	// Silence is the longest without a valid reading that differs from the last.
	Silence time.Duration
}

// AxisSettings describes one axis to the controller. Rates, accelerations and
// torques are positive; torques are those of one motor at the axis.
type AxisSettings struct {
	Motors             int // 2 on a main axis, 1 on a polarization axis
	Brakes             bool
	SoftwareLimits     [2]quantity.Angle // lower, upper
	FullRate           quantity.Rate
	Acceleration       quantity.Acceleration
	StopRamp           quantity.Acceleration
	StopJerk           quantity.Jerk
	RampTime           time.Duration // monitored: a ramp is over then, whatever came of it
	RatedTorque        quantity.Torque
	TorqueBias         quantity.Torque
	Inertia            quantity.Inertia // load and motors together
	Friction           quantity.Torque
	PositionLoop       quantity.Frequency // bandwidth of the position loop
	SpeedLoop          quantity.Frequency // bandwidth of the drives' speed loop
	StandstillRate     quantity.Rate
	StandstillHold     time.Duration
	DisagreeRate       quantity.Rate // encoder against motors
	DisagreeTime       time.Duration
	FollowingError     quantity.Angle
	FollowingErrorTime time.Duration
	EncoderCounts      uint64         // counts over the whole range
	EncoderCountAngle  quantity.Angle // angle of one count
	EncoderZero        quantity.Angle // axis angle at count 0
}

// Seat is a device as the controller reaches it.
type Seat struct {
	Name     string
	Endpoint link.Endpoint
	Unit     byte
	Map      registers.Map
	Gear     float64 // motor turns per axis turn, 1 where the map needs none
}

// Devices is everything the controller connects to, and where it answers.
type Devices struct {
	Encoders   [AxisCount]Seat
	Drives     [MotorCount]Seat
	Interlock  Seat
	Mast       Seat          // of the weather mast; without an address there is none
	Management link.Endpoint // its own SNMP agent listens here
	Notify     link.Endpoint // its notifications go here
}

// Seat is that of a device by its role in the device sheet, and by its axis, its motor
// or 0; nil of one that this controller does not use.
func (d *Devices) Seat(role string, index int) *Seat {
	switch role {
	case "encoder":
		return &d.Encoders[index]
	case "drive":
		return &d.Drives[index]
	case "interlock":
		return &d.Interlock
	case "mast":
		return &d.Mast
	}
	return nil
}

// motorsOf tells the first motor of an axis and how many it has.
func motorsOf(axis int) (first, count int) {
	if axis < MainAxes {
		return 2 * axis, 2
	}
	return axis + MainAxes, 1
}
