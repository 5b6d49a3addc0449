package config

// stationFile is the form of a station. Values must be above zero unless the
// tag allows zero, or any value. A parameter's path is that of its key, without
// "axes.".
type stationFile struct {
	Station      text                `yaml:"station"`
	Origin       text                `yaml:"origin"`
	Antenna      antennaSection      `yaml:"antenna"`
	Wind         windSection         `yaml:"wind"`
	Stow         stowSection         `yaml:"stow"`
	Standstill   standstillSection   `yaml:"standstill"`
	Brake        brakeSection        `yaml:"brake"`
	Interlock    interlockSection    `yaml:"interlock"`
	Stop         stopSection         `yaml:"stop"`
	Controller   controllerSection   `yaml:"controller"`
	Disagreement disagreementSection `yaml:"disagreement"`
	Following    followingSection    `yaml:"following_error"`
	Overspeed    overspeedSection    `yaml:"overspeed"`
	Axes         axesSection         `yaml:"axes"`
	Wiring       wiringSection       `yaml:"wiring"`
	Encoders     encodersSection     `yaml:"encoders"`
	Drives       drivesSection       `yaml:"drives"`
	Unit         deviceSection       `yaml:"interlock_unit"`
	Mast         *mastSection        `yaml:"mast,omitempty"`
	Weather      *weatherSection     `yaml:"weather,omitempty"`
}

type antennaSection struct {
	Dish      value[length]    `yaml:"dish"`
	Beacon    value[frequency] `yaml:"beacon"`
	BeamWidth value[angle]     `yaml:"beam_width"`
}

type windSection struct {
	Constant value[speed] `yaml:"constant" range:"zero"`
	StowMean value[speed] `yaml:"stow_mean"`
	StowGust value[speed] `yaml:"stow_gust"`
	Survival value[speed] `yaml:"survival"`
}

type stowSection struct {
	Elevation value[angle] `yaml:"elevation" range:"any"`
	Time      value[span]  `yaml:"time"`
}

type standstillSection struct {
	Rate value[rate] `yaml:"rate"`
	Hold value[span] `yaml:"hold"`
}

type brakeSection struct {
	Engage   value[span] `yaml:"engage"`
	Release  value[span] `yaml:"release"`
	Feedback value[span] `yaml:"feedback"`
}

type interlockSection struct {
	RelayDelay     value[span] `yaml:"relay_delay" range:"zero"`
	SS1Time        value[span] `yaml:"ss1_time" range:"zero"`
	Watchdog       value[span] `yaml:"watchdog"`
	Discrepancy    value[span] `yaml:"discrepancy"`
	EnablingDevice flag        `yaml:"enabling_device"`
	Hatch          text        `yaml:"hatch"`
	Ladder         text        `yaml:"ladder"`
	Pin            text        `yaml:"pin"`
	ModeChange     text        `yaml:"mode_change"`
}

type stopSection struct {
	FinalLimitTorqueOff value[span] `yaml:"final_limit_torque_off"`
	Category0TorqueOff  value[span] `yaml:"category0_torque_off"`
	Category1Margin     value[span] `yaml:"category1_margin"`
	Report              value[span] `yaml:"report"`
}

type controllerSection struct {
	Cycle           value[span] `yaml:"cycle"`
	Reaction        value[span] `yaml:"reaction"`
	Silence         value[span] `yaml:"silence"`
	DoubtMargin     value[span] `yaml:"doubt_margin"`
	PartnerOff      value[span] `yaml:"partner_off"`
	Start           value[span] `yaml:"start"`
	Horn            value[span] `yaml:"horn"`
	ArmedWindow     value[span] `yaml:"armed_window"`
	ReceiverSilence value[span] `yaml:"receiver_silence"`
	PermissionGone  value[span] `yaml:"permission_gone"`
}

type disagreementSection struct {
	Rate value[rate] `yaml:"rate"`
	Time value[span] `yaml:"time"`
}

type followingSection struct {
	Angle value[angle] `yaml:"angle"`
	Time  value[span]  `yaml:"time"`
}

type overspeedSection struct {
	Ratio     value[ratio] `yaml:"ratio"`
	Disable   value[span]  `yaml:"disable"`
	TorqueOff value[span]  `yaml:"torque_off"`
}

type axesSection struct {
	Azimuth       mainAxisSection         `yaml:"azimuth"`
	Elevation     mainAxisSection         `yaml:"elevation"`
	PolarizationH polarizationAxisSection `yaml:"polarization_h"`
	PolarizationV polarizationAxisSection `yaml:"polarization_v"`
}

// axisSection is what all axes have; torques and inertia are at the axis.
type axisSection struct {
	SoftwareLimit ends                `yaml:"software_limit"`
	FullRate      value[rate]         `yaml:"full_rate"`
	Acceleration  value[acceleration] `yaml:"acceleration"`
	StopRamp      value[acceleration] `yaml:"stop_ramp"`
	StopJerk      value[jerk]         `yaml:"stop_jerk"`
	LoadInertia   value[inertia]      `yaml:"load_inertia"`
	MotorInertia  value[inertia]      `yaml:"motor_inertia"`
	LockedRotor   value[frequency]    `yaml:"locked_rotor"`
	GearDamping   value[ratio]        `yaml:"gear_damping" range:"zero"`
	Gear          value[number]       `yaml:"gear"`
	Backlash      value[angle]        `yaml:"backlash" range:"zero"`
	RatedTorque   value[torque]       `yaml:"rated_torque"`
	PeakTorque    value[torque]       `yaml:"peak_torque"`
	Coulomb       value[torque]       `yaml:"coulomb_friction" range:"zero"`
	Viscous       value[damping]      `yaml:"viscous_friction" range:"zero"`
	SpeedLoop     value[frequency]    `yaml:"speed_loop"`
	PositionLoop  value[frequency]    `yaml:"position_loop"`
}

// mainAxisSection adds the limit chain, the bias, the brakes and the loads of
// the sky. The switches and the buffer stand beyond the software limit.
type mainAxisSection struct {
	axisSection  `yaml:",inline"`
	PreLimit     value[angle]  `yaml:"pre_limit"`
	FinalLimit   value[angle]  `yaml:"final_limit"`
	Buffer       value[angle]  `yaml:"buffer"`
	BufferStroke value[angle]  `yaml:"buffer_stroke"`
	BufferEnergy value[energy] `yaml:"buffer_energy"`
	TorqueBias   value[torque] `yaml:"torque_bias" range:"zero"`
	BrakeTorque  value[torque] `yaml:"brake_torque"`
	Unbalance    value[torque] `yaml:"unbalance" range:"zero"`

	Reflector *reflectorSection `yaml:"reflector,omitempty"`
	Gravity   *gravitySection   `yaml:"gravity,omitempty"`
	Zenith    *zenithSection    `yaml:"zenith,omitempty"`
	StowPin   *stowPinSection   `yaml:"stow_pin,omitempty"`
	CableWrap *cableWrapSection `yaml:"cable_wrap,omitempty"`
}

type polarizationAxisSection struct {
	axisSection `yaml:",inline"`
	Travel      ends `yaml:"travel"`
}

// wiringSection lists the contacts in the enable chain of each axis, beside the
// relay's delayed contact, and those that select safe functions of its drives.
type wiringSection struct {
	Azimuth       words `yaml:"azimuth"`
	Elevation     words `yaml:"elevation"`
	PolarizationH words `yaml:"polarization_h"`
	PolarizationV words `yaml:"polarization_v"`

	Safe *safeWiringSection `yaml:"safe_functions,omitempty"`
}

type encoderSeatSection struct {
	deviceSection `yaml:",inline"`
	Bits          count        `yaml:"bits"`
	Turns         count        `yaml:"turns"`
	Zero          value[angle] `yaml:"zero" range:"any"`

	Eccentricity *eccentricitySection `yaml:"eccentricity,omitempty"`
	Latency      value[span]          `yaml:"latency,omitempty" range:"zero"`
	SecondHead   flag                 `yaml:"second_head,omitempty"`
}

// eccentricitySection is a disc off its centre: an error once a turn, which is zero
// at the phase and grows upward of it. A second head has it the other way round.
type eccentricitySection struct {
	Amplitude value[angle] `yaml:"amplitude" range:"zero"`
	Phase     value[angle] `yaml:"phase" range:"any"`
}

type encodersSection struct {
	Azimuth       encoderSeatSection `yaml:"azimuth"`
	Elevation     encoderSeatSection `yaml:"elevation"`
	PolarizationH encoderSeatSection `yaml:"polarization_h"`
	PolarizationV encoderSeatSection `yaml:"polarization_v"`
}

type driveSeatSection struct {
	deviceSection `yaml:",inline"`
	Sheet         text `yaml:"sheet"`
}

type drivesSection struct {
	Azimuth1       driveSeatSection `yaml:"azimuth.1"`
	Azimuth2       driveSeatSection `yaml:"azimuth.2"`
	Elevation1     driveSeatSection `yaml:"elevation.1"`
	Elevation2     driveSeatSection `yaml:"elevation.2"`
	PolarizationH1 driveSeatSection `yaml:"polarization_h.1"`
	PolarizationV1 driveSeatSection `yaml:"polarization_v.1"`
}
