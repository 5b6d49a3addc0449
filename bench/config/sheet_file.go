package config

// sheetFile is the form of a drive sheet. Ratios are shares of what the station
// says of the axis.
type sheetFile struct {
	Sheet                 text           `yaml:"sheet"`
	Origin                text           `yaml:"origin"`
	Per                   text           `yaml:"per"`
	Watchdog              value[span]    `yaml:"watchdog" range:"zero"`
	SelfTest              value[span]    `yaml:"self_test" range:"zero"`
	BrakeMargin           value[span]    `yaml:"brake_margin" range:"zero"`
	STODelay              value[span]    `yaml:"sto_delay" range:"zero"`
	STOEndsIn             text           `yaml:"sto_ends_in"`
	MaxVelocity           value[ratio]   `yaml:"max_velocity"`
	Acceleration          value[ratio]   `yaml:"acceleration"`
	Deceleration          value[ratio]   `yaml:"deceleration"`
	QuickStopDeceleration value[ratio]   `yaml:"quick_stop_deceleration"`
	TorqueSlope           value[number]  `yaml:"torque_slope" range:"zero"`
	VelocityWindow        value[ratio]   `yaml:"velocity_window" range:"zero"`
	VelocityWindowTime    value[span]    `yaml:"velocity_window_time" range:"zero"`
	IntegralTime          value[span]    `yaml:"integral_time" range:"zero"`
	Options               optionsSection `yaml:"options"`

	// What follows is off where it is left out.
	Modes            words             `yaml:"modes,omitempty"` // 6502
	Interpolation    value[span]       `yaml:"interpolation_time,omitempty"`
	MaxMotorSpeed    value[ratio]      `yaml:"max_motor_speed,omitempty"` // 6080, of full rate
	BaseRate         value[ratio]      `yaml:"base_rate,omitempty"`       // of full rate
	Following        *followingSection `yaml:"following_error,omitempty"` // 6065 and 6066
	Overspeed        value[ratio]      `yaml:"overspeed,omitempty"`       // of full rate
	BlockedTime      value[span]       `yaml:"blocked_time,omitempty"`
	PartnerInterlock flag              `yaml:"partner_interlock,omitempty"`
	I2t              *i2tSection       `yaml:"i2t,omitempty"`
	Link             *linkSection      `yaml:"link,omitempty"`
	Safety           *safetySection    `yaml:"safety,omitempty"`
}

// i2tSection is how long the motor bears its peak torque.
type i2tSection struct {
	PeakTime value[span] `yaml:"peak_time"`
	FoldBack flag        `yaml:"fold_back"`
}

// linkSection is the direct-current link; voltages are shares of the nominal.
type linkSection struct {
	Energy       value[energy] `yaml:"energy"`
	Under        value[ratio]  `yaml:"under"`
	Chopper      value[ratio]  `yaml:"chopper"`
	Over         value[ratio]  `yaml:"over"`
	ResistorTime value[span]   `yaml:"resistor_time"`
	ResistorHeat value[energy] `yaml:"resistor_heat"`
	Cooling      value[span]   `yaml:"resistor_cooling"`
	Efficiency   value[ratio]  `yaml:"efficiency"`
	Dip          value[span]   `yaml:"dip" range:"zero"`
}

// safetySection is the functions of IEC 61800-5-2 beside STO.
type safetySection struct {
	Reaction text        `yaml:"reaction"`
	SS1      *ss1Section `yaml:"ss1,omitempty"`
	SS2      *ss2Section `yaml:"ss2,omitempty"`
	SLS      *slsSection `yaml:"sls,omitempty"`
	SDI      *sdiSection `yaml:"sdi,omitempty"`
	SBC      flag        `yaml:"sbc,omitempty"`
}

// ss1Section: ramp and margin, of the stop ramp and of full rate, monitor the ramp.
type ss1Section struct {
	Time   value[span]  `yaml:"time"`
	Ramp   value[ratio] `yaml:"ramp,omitempty"`
	Margin value[ratio] `yaml:"margin,omitempty"`
}

type ss2Section struct {
	Time   value[span]  `yaml:"time"`
	Window value[angle] `yaml:"window"` // of the SOS it ends in
}

type slsSection struct {
	Rate value[ratio] `yaml:"rate"` // of full rate
	Time value[span]  `yaml:"time" range:"zero"`
}

type sdiSection struct {
	Window value[angle] `yaml:"window"`
}

// optionsSection holds the option codes of CiA 402, by the object's number.
type optionsSection struct {
	QuickStop     count `yaml:"quick_stop"`     // 605A
	Shutdown      count `yaml:"shutdown"`       // 605B
	Disable       count `yaml:"disable"`        // 605C
	Halt          count `yaml:"halt"`           // 605D
	FaultReaction count `yaml:"fault_reaction"` // 605E
	Abort         count `yaml:"abort"`          // 6007
}

// mapFile is the form of a register map.
type mapFile struct {
	Map    text           `yaml:"map"`
	Device text           `yaml:"device"`
	Gaps   text           `yaml:"gaps"`
	Points []pointSection `yaml:"points"`
}

type pointSection struct {
	Quantity text  `yaml:"quantity"`
	Space    text  `yaml:"space"`
	Address  count `yaml:"address"`
	Bit      count `yaml:"bit,omitempty"`
	Type     text  `yaml:"type"`
	Order    text  `yaml:"order,omitempty"`
	Scale    text  `yaml:"scale,omitempty"`
	Offset   text  `yaml:"offset,omitempty"`
	Side     text  `yaml:"side,omitempty"`
	Write    flag  `yaml:"write,omitempty"`
	Negate   flag  `yaml:"negate,omitempty"`
}
