package drive

import (
	"errors"
	"math"
	"time"

	"haltmark/emulators/cia402"
)

// What is wrong with a value that was stored.
var (
	ErrReadOnly = errors.New("drive: object is read only")
	ErrRange    = errors.New("drive: value out of range")
	ErrObject   = errors.New("drive: no such object")
)

// The objects of the profile, as indexes into Quantities. Words and codes are
// whole numbers; velocities rad/s, accelerations rad/s^2, position rad, times s,
// torques per mille of rated torque, rated torque itself N m. The index is the
// object's in CiA 402.
const (
	Controlword           int = iota // 6040
	Statusword                       // 6041, read only
	Mode                             // 6060: one of SupportedModes
	ModeDisplay                      // 6061, read only
	TargetVelocity                   // 60FF
	VelocityActual                   // 606C, read only
	VelocityDemand                   // 606B, read only
	PositionActual                   // 6064, read only
	TorqueActual                     // 6077, read only
	TorqueDemand                     // 6074, read only
	TargetTorque                     // 6071
	TorqueOffset                     // 60B2
	MaxTorque                        // 6072
	RatedTorque                      // 6076, read only
	ErrorCode                        // 603F, read only
	QuickStopOption                  // 605A
	ShutdownOption                   // 605B
	DisableOption                    // 605C
	HaltOption                       // 605D
	FaultReactionOption              // 605E
	AbortOption                      // 6007
	MaxVelocity                      // 607F
	ProfileAcceleration              // 6083
	ProfileDeceleration              // 6084
	QuickStopDeceleration            // 6085
	TorqueSlope                      // 6087
	VelocityWindow                   // 606D
	VelocityWindowTime               // 606E
	VelocityThreshold                // 606F
	VelocityThresholdTime            // 6070
	SupportedModes                   // 6502, read only
	PositionDemand                   // 6062, read only
	FollowingActual                  // 60F4, read only
	FollowingWindow                  // 6065
	FollowingTime                    // 6066
	PositionWindow                   // 6067
	PositionWindowTime               // 6068
	MaxMotorSpeed                    // 6080
	LinkVoltage                      // 6079 as per mille of the nominal, read only
	DigitalInputs                    // 60FD, read only
	DigitalOutputs                   // 60FE:1, bit 0 closes the brake
	OutputMask                       // 60FE:2, which outputs act
	InterpolationTime                // 60C2
	quantityCount
)

// Quantities names the objects; the order is that of the constants.
func (d *Drive) Quantities() []string {
	return []string{
		Controlword:           "controlword",
		Statusword:            "statusword",
		Mode:                  "mode",
		ModeDisplay:           "mode_display",
		TargetVelocity:        "target_velocity",
		VelocityActual:        "velocity_actual",
		VelocityDemand:        "velocity_demand",
		PositionActual:        "position_actual",
		TorqueActual:          "torque_actual",
		TorqueDemand:          "torque_demand",
		TargetTorque:          "target_torque",
		TorqueOffset:          "torque_offset",
		MaxTorque:             "max_torque",
		RatedTorque:           "rated_torque",
		ErrorCode:             "error_code",
		QuickStopOption:       "quick_stop_option",
		ShutdownOption:        "shutdown_option",
		DisableOption:         "disable_option",
		HaltOption:            "halt_option",
		FaultReactionOption:   "fault_reaction_option",
		AbortOption:           "abort_option",
		MaxVelocity:           "max_velocity",
		ProfileAcceleration:   "profile_acceleration",
		ProfileDeceleration:   "profile_deceleration",
		QuickStopDeceleration: "quick_stop_deceleration",
		TorqueSlope:           "torque_slope",
		VelocityWindow:        "velocity_window",
		VelocityWindowTime:    "velocity_window_time",
		VelocityThreshold:     "velocity_threshold",
		VelocityThresholdTime: "velocity_threshold_time",
		SupportedModes:        "supported_modes",
		PositionDemand:        "position_demand",
		FollowingActual:       "following_error_actual",
		FollowingWindow:       "following_error_window",
		FollowingTime:         "following_error_time",
		PositionWindow:        "position_window",
		PositionWindowTime:    "position_window_time",
		MaxMotorSpeed:         "max_motor_speed",
		LinkVoltage:           "link_voltage",
		DigitalInputs:         "digital_inputs",
		DigitalOutputs:        "digital_outputs",
		OutputMask:            "digital_outputs_mask",
		InterpolationTime:     "interpolation_time",
	}
}

// Load is the value of an object as the wire sees it; 0 for an unknown id.
func (d *Drive) Load(id int) float64 {
	switch {
	case id < 0 || id >= quantityCount:
		return 0
	case d.wasStale && reported(id):
		return d.staleLoad[id]
	case reported(id):
		return d.report(id)
	}
	return d.setting(id)
}

// Store sets an object. Words and codes must be whole numbers.
func (d *Drive) Store(id int, value float64) error {
	switch {
	case id < 0 || id >= quantityCount:
		return ErrObject
	case reported(id) || id == RatedTorque || id == SupportedModes:
		return ErrReadOnly
	case math.IsNaN(value) || math.IsInf(value, 0):
		return ErrRange
	}
	switch id {
	case Controlword:
		if value != math.Trunc(value) || value < 0 || value > 0xFFFF {
			return ErrRange
		}
		d.command(uint16(value))
		return nil
	case Mode:
		return d.storeMode(value)
	case TargetVelocity, TargetTorque, TorqueOffset, MaxTorque:
		return d.storeTarget(id, value)
	case QuickStopOption, ShutdownOption, DisableOption, HaltOption, FaultReactionOption,
		AbortOption:
		return d.storeOption(id, value)
	case DigitalOutputs, OutputMask:
		return d.storeOutputs(id, value)
	}
	return d.storeShape(id, value)
}

// reported tells the objects that a drive reports about itself.
func reported(id int) bool {
	switch id {
	case Statusword, ModeDisplay, VelocityActual, VelocityDemand, PositionActual,
		TorqueActual, TorqueDemand, ErrorCode, PositionDemand, FollowingActual, LinkVoltage,
		DigitalInputs:
		return true
	}
	return false
}

func (d *Drive) report(id int) float64 {
	switch id {
	case Statusword:
		return float64(d.statusword())
	case ModeDisplay:
		return float64(d.mode)
	case VelocityActual:
		return d.rate
	case VelocityDemand:
		return d.demand
	case PositionActual:
		return d.turn
	case TorqueActual:
		return d.perMille(d.torque)
	case TorqueDemand:
		return d.perMille(d.torqueDemand)
	case PositionDemand:
		return d.pathDemand()
	case FollowingActual:
		return d.pathDemand() - d.turn
	case LinkVoltage:
		return d.linkVoltage()
	case DigitalInputs:
		return float64(d.inputs())
	}
	return float64(d.code)
}

func (d *Drive) setting(id int) float64 {
	o := &d.set.Options
	switch id {
	case Controlword:
		return float64(d.word)
	case Mode:
		return float64(d.mode)
	case TargetVelocity:
		return d.targetVelocity
	case TargetTorque:
		return d.perMille(d.targetTorque)
	case TorqueOffset:
		return d.perMille(d.offset)
	case MaxTorque:
		return d.perMille(d.maxTorque)
	case RatedTorque:
		return float64(d.set.RatedTorque)
	case SupportedModes:
		return float64(d.set.modes())
	case DigitalOutputs:
		return float64(d.outputs)
	case OutputMask:
		return float64(d.mask)
	case QuickStopOption:
		return float64(o.QuickStop)
	case ShutdownOption:
		return float64(o.Shutdown)
	case DisableOption:
		return float64(o.Disable)
	case HaltOption:
		return float64(o.Halt)
	case FaultReactionOption:
		return float64(o.FaultReaction)
	case AbortOption:
		return float64(o.Abort)
	}
	return d.shape(id)
}

func (d *Drive) shape(id int) float64 {
	p := &d.set
	switch id {
	case MaxVelocity:
		return float64(p.MaxVelocity)
	case ProfileAcceleration:
		return float64(p.Acceleration)
	case ProfileDeceleration:
		return float64(p.Deceleration)
	case QuickStopDeceleration:
		return float64(p.QuickStopDeceleration)
	case TorqueSlope:
		return p.TorqueSlope
	case VelocityWindow:
		return float64(p.VelocityOff)
	case VelocityWindowTime:
		return p.VelocityOffTime.Seconds()
	case VelocityThreshold:
		return float64(p.StandstillRate)
	case FollowingWindow:
		return float64(p.FollowingError)
	case FollowingTime:
		return p.FollowingTime.Seconds()
	case PositionWindow:
		return float64(p.PositionWindow)
	case PositionWindowTime:
		return p.PositionWindowTime.Seconds()
	case MaxMotorSpeed:
		return float64(p.MaxMotorSpeed)
	case InterpolationTime:
		return p.Interpolation.Seconds()
	}
	return p.StandstillTime.Seconds()
}

// statusword composes object 6041 from the state and what stands beside it.
func (d *Drive) statusword() uint16 {
	flags := cia402.Remote
	if d.supplied {
		flags |= cia402.VoltageEnabled
	}
	if d.Faults.Warning || d.silent && d.powered || !d.plain && d.warns() {
		flags |= cia402.Warning
	}
	if d.reached {
		flags |= cia402.TargetReached
	}
	if d.limited {
		flags |= cia402.InternalLimit
	}
	if d.still && d.mode == cia402.ModeProfileVelocity {
		flags |= cia402.SpeedZero
	}
	if cia402.CyclicMode(d.mode) && d.state == cia402.OperationEnabled && !d.slowing {
		flags |= cia402.FollowsCommand
	}
	if d.strays() {
		flags |= cia402.FollowingError
	}
	return cia402.Statusword(d.state, flags)
}

func (d *Drive) perMille(torqueNm float64) float64 {
	return torqueNm / float64(d.set.RatedTorque) * 1000
}

func (d *Drive) keepStale(stale bool) {
	d.wasStale = stale
	if !stale {
		return
	}
	for id := range d.staleLoad {
		if reported(id) {
			d.staleLoad[id] = d.report(id)
		}
	}
}

func seconds(value float64) time.Duration { return time.Duration(math.Round(value * 1e9)) }
