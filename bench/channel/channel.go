package channel

// Quantity is what every axis, or every motor, has a channel of.
type Quantity string

// The samples of an axis, the rate and the torque of a motor too.
const (
	Position       Quantity = "position"
	Rate           Quantity = "rate"
	Torque         Quantity = "torque"
	Encoder        Quantity = "encoder" // the position that it tells
	ExternalTorque Quantity = "external_torque"
	BufferDepth    Quantity = "buffer_depth"
	Wrap           Quantity = "wrap"
	ReflectorBend  Quantity = "reflector_bend"
)

// The levels of an axis.
const (
	Standstill Quantity = "standstill" // of its motors, for the hold time
	Structure  Quantity = "structure"  // hit
	PinIn      Quantity = "pin_in"
	PinMissed  Quantity = "pin_missed"
	PinSheared Quantity = "pin_sheared"
)

// The levels of a motor, its drive and its brake.
const (
	TorqueOn      Quantity = "torque_on"
	STO           Quantity = "sto"
	DriveState    Quantity = "drive_state"
	Supply        Quantity = "supply" // per mille
	BrakeCoil     Quantity = "brake_coil"
	BrakeSet      Quantity = "brake_set"
	BrakeDragging Quantity = "brake_dragging"
	ClosedAtSpeed Quantity = "closed_at_speed"
)

// Of is the channel of an axis or a motor, such as "azimuth.1.torque_on".
func (q Quantity) Of(whose string) string { return whose + "." + string(q) }

// Switch is what each end of a main axis has a channel of.
type Switch string

// The switches and the buffer; the switches are stop causes of the same name.
const (
	PreLimit   Switch = "pre_limit"
	FinalLimit Switch = "final_limit"
	Buffer     Switch = "buffer"
)

// At is the channel of an end, such as "azimuth.final_limit.lower".
func (w Switch) At(axis, end string) string { return axis + "." + string(w) + "." + end }

// Output is one of the interlock unit to every axis, or to every motor.
type Output string

// The outputs.
const (
	Enable       Output = "interlock.enable"
	BrakeRelease Output = "interlock.brake_release"
)

// To is the channel of an output, such as "interlock.enable.azimuth".
func (o Output) To(whose string) string { return string(o) + "." + whose }

// The channels of which there is one.
const (
	RelayChannel1     = "relay.channel_1"
	RelayChannel2     = "relay.channel_2"
	RelayInstant      = "relay.instant"
	RelayDelayed      = "relay.delayed"
	RelayResetRefused = "relay.reset_refused"
	Discrepancy       = "interlock.discrepancy"
	Horn              = "interlock.horn"
	Override          = "interlock.override"
	Watchdog          = "interlock.watchdog"
	Mode              = "interlock.mode"
	ControllerState   = "controller.state"
	ControllerCause   = "controller.cause"
	WindSpeed         = "wind.speed"
	WindFrom          = "wind.from" // its azimuth

	// Step is the width of a time stamp, one plant step, ns.
	Step = "bench.step"
	// Lateness is that of an exchange on the wall clock, ns.
	Lateness = "bench.lateness"
	// EventLateness is that of the bench's own events on the wall clock, ns.
	EventLateness = "bench.event_lateness"
)
