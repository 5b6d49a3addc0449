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
