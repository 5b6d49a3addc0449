package drive

import (
	"math"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

func (d *Drive) storeMode(value float64) error {
	if value != math.Trunc(value) || math.Abs(value) > math.MaxInt8 ||
		!cia402.Supports(d.set.modes(), int8(value)) {
		return ErrRange
	}
	if mode := int8(value); mode != d.mode && !d.Faults.IgnoreCommand {
		d.mode = mode
		if d.powered && !d.slowing {
			d.restart()
		}
	}
	return nil
}

func (d *Drive) storeTarget(id int, value float64) error {
	if id == TargetVelocity {
		if !d.Faults.IgnoreCommand {
			d.targetVelocity = value
			if span := d.set.Interpolation; span > 0 {
				d.slope = math.Abs(value-d.demand) / span.Seconds()
			}
		}
		return nil
	}
	if value < math.MinInt16 || value > math.MaxInt16 {
		return ErrRange
	}
	torque := value / 1000 * float64(d.set.RatedTorque)
	switch {
	case id == MaxTorque:
		if value < 0 {
			return ErrRange
		}
		d.maxTorque = min(torque, float64(d.set.PeakTorque))
	case d.Faults.IgnoreCommand:
	case id == TargetTorque:
		d.targetTorque = torque
	default:
		d.offset = torque
	}
	return nil
}

func (d *Drive) storeOption(id int, value float64) error {
	if value != math.Trunc(value) || value < math.MinInt16 || value > math.MaxInt16 {
		return ErrRange
	}
	code, o := int16(value), d.set.Options
	switch id {
	case QuickStopOption:
		o.QuickStop = code
	case ShutdownOption:
		o.Shutdown = code
	case DisableOption:
		o.Disable = code
	case HaltOption:
		o.Halt = code
	case FaultReactionOption:
		o.FaultReaction = code
	case AbortOption:
		o.Abort = code
	}
	if !o.Legal() {
		return ErrRange
	}
	d.set.Options = o
	return nil
}

// storeShape sets ramps, windows and times. A ramp that is under way goes on as
// it began where it is a stop, with the new figure where it is a move.
func (d *Drive) storeShape(id int, value float64) error {
	switch id {
	case VelocityWindowTime, VelocityThresholdTime, FollowingTime, PositionWindowTime,
		InterpolationTime:
		// The objects hold 16 bits of milliseconds.
		if value < 0 || value > 65.535 {
			return ErrRange
		}
	}
	p := d.set
	switch id {
	case MaxVelocity:
		p.MaxVelocity = quantity.Rate(value)
	case ProfileAcceleration:
		p.Acceleration = quantity.Acceleration(value)
	case ProfileDeceleration:
		p.Deceleration = quantity.Acceleration(value)
	case QuickStopDeceleration:
		p.QuickStopDeceleration = quantity.Acceleration(value)
	case TorqueSlope:
		p.TorqueSlope = value
	case VelocityWindow:
		p.VelocityOff = quantity.Rate(value)
	case VelocityWindowTime:
		p.VelocityOffTime = seconds(value)
	case VelocityThreshold:
		p.StandstillRate = quantity.Rate(value)
	case VelocityThresholdTime:
		p.StandstillTime = seconds(value)
	case FollowingWindow:
		p.FollowingError = quantity.Angle(value)
	case FollowingTime:
		p.FollowingTime = seconds(value)
	case PositionWindow:
		p.PositionWindow = quantity.Angle(value)
	case PositionWindowTime:
		p.PositionWindowTime = seconds(value)
	case MaxMotorSpeed:
		p.MaxMotorSpeed = quantity.Rate(value)
	case InterpolationTime:
		p.Interpolation = seconds(value)
	}
	if p.Check() != nil {
		return ErrRange
	}
	if d.set.FollowingError == 0 {
		d.watch.path, d.watch.near = d.turn, d.now
	}
	d.set = p
	d.refit()
	return nil
}

func (d *Drive) storeOutputs(id int, value float64) error {
	if value != math.Trunc(value) || value < 0 || value > math.MaxUint32 {
		return ErrRange
	}
	switch {
	case d.Faults.IgnoreCommand:
	case id == DigitalOutputs:
		d.outputs = uint32(value)
	default:
		d.mask = uint32(value)
	}
	return nil
}
