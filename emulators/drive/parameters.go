package drive

import (
	"errors"
	"fmt"
	"math"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
)

// Parameters describe a drive with its motor. Torques, rates and the inertia are
// at the axis and of this motor alone; spans of zero switch the thing off that
// they belong to, unless said otherwise.
type Parameters struct {
	RatedTorque quantity.Torque // 6076: 1000 per mille of the torque objects
	PeakTorque  quantity.Torque // never exceeded
	// Inertia is this motor's share of the axis, load and all; with SpeedLoop,
	// the bandwidth of the speed loop, it gives the gain 2 pi f J.
	Inertia      quantity.Inertia
	SpeedLoop    quantity.Frequency
	IntegralTime time.Duration // of the speed loop; 0, the usual, is proportional

	MaxVelocity           quantity.Rate         // 607F, targets are cut to it; 0 is none
	Acceleration          quantity.Acceleration // 6083
	Deceleration          quantity.Acceleration // 6084
	QuickStopDeceleration quantity.Acceleration // 6085
	// TorqueSlope is object 6087 in per mille of rated torque per second; 0
	// lets a torque target act at once.
	TorqueSlope float64

	// BaseRate is the speed up to which there is peak torque at nominal voltage;
	// beyond it torque falls with speed. 0 is a torque that no voltage bounds.
	BaseRate quantity.Rate

	Options  cia402.Options
	Watchdog time.Duration // longest silence of the controlword while enabled
	SelfTest time.Duration // from supply on to switch on disabled

	// BrakeHold is how long torque stays on after a stop of the drive's own has
	// ended and its ready contact has dropped, so that the brake closes under
	// torque: its engage delay and a margin. 0 is a drive that minds no brake.
	// Common practice.
	BrakeHold   time.Duration
	STODelay    time.Duration // from the input to no torque
	STOEndsIn   STOEnd
	STOError    uint16        // 603F when it ends in fault; 0 means FF00
	VelocityOff quantity.Rate // 606D: target reached within this

	VelocityOffTime time.Duration // 606E
	StandstillRate  quantity.Rate // 606F: slower than this is standstill
	StandstillTime  time.Duration // 6070

	Modes          uint32        // 6502; 0 means the two profile modes
	Interpolation  time.Duration // 60C2: a cyclic velocity is led to its set point in this
	MaxMotorSpeed  quantity.Rate // 6080: cuts targets, and torque beyond it in torque modes
	FollowingError quantity.Angle
	FollowingTime  time.Duration // 6065 above and 6066 here: beyond it for so long is 8611
	// PositionWindow and PositionWindowTime, 6067 and 6068, are kept for whoever
	// reads them: no mode here has a target position.
	PositionWindow     quantity.Angle
	PositionWindowTime time.Duration

	Overspeed        quantity.Rate // faster than this trips with 7310
	BlockedTime      time.Duration // at its torque limit and standing so long trips with 7121
	PartnerInterlock bool          // the fault of the axis's other drive takes the torque, FF01
	Thermal          Thermal
	Link             Link
	Safety           Safety
}

// STOEnd is where safe torque off leaves a drive that was enabled.
type STOEnd uint8

// What makers do, both common practice.
const (
	STODisables STOEnd = iota // switch on disabled
	STOFaults                 // fault, to be reset
)

// Check tells what is wrong with the parameters, with value and limit.
func (p Parameters) Check() error {
	positive := func(name string, v float64) error {
		if v > 0 && !math.IsInf(v, 1) {
			return nil
		}
		return fmt.Errorf("drive: %s %g must be above 0", name, v)
	}
	err := errors.Join(
		positive("rated torque", float64(p.RatedTorque)),
		positive("inertia", float64(p.Inertia)),
		positive("speed loop", float64(p.SpeedLoop)),
		positive("acceleration", float64(p.Acceleration)),
		positive("deceleration", float64(p.Deceleration)),
		positive("quick stop deceleration", float64(p.QuickStopDeceleration)),
		positive("standstill rate", float64(p.StandstillRate)),
		positive("peak torque", float64(p.PeakTorque)),
	)
	if p.PeakTorque < p.RatedTorque {
		err = errors.Join(err, fmt.Errorf("drive: peak torque %v is below rated torque %v",
			p.PeakTorque, p.RatedTorque))
	}
	if !(p.MaxVelocity >= 0) || !(p.VelocityOff >= 0) || !(p.TorqueSlope >= 0) ||
		!(p.BaseRate >= 0) {
		err = errors.Join(err, errors.New("drive: largest velocity, velocity window, torque slope "+
			"and base rate must not be negative"))
	}
	if !p.Options.Legal() {
		err = errors.Join(err, fmt.Errorf("drive: option codes %+v: not all allowed", p.Options))
	}
	shortest := min(p.IntegralTime, p.Watchdog, p.SelfTest, p.STODelay, p.VelocityOffTime,
		p.StandstillTime, p.BrakeHold, p.Interpolation, p.FollowingTime, p.PositionWindowTime,
		p.BlockedTime)
	if shortest < 0 {
		err = errors.Join(err, fmt.Errorf("drive: span %v is below 0", shortest))
	}
	return errors.Join(err, p.checkModes(), p.checkWatches(), p.Thermal.check(p),
		p.Link.check(), p.Safety.check())
}

func (p *Parameters) checkModes() error {
	modes := p.modes()
	if modes&^cia402.KnownModes != 0 || modes&cia402.SupportsProfileVelocity == 0 {
		return fmt.Errorf("drive: supported modes %#x must be within %#x and have %#x", modes,
			cia402.KnownModes, cia402.SupportsProfileVelocity)
	}
	if p.Interpolation > 0 && modes&cia402.SupportsCyclicVelocity == 0 {
		return errors.New("drive: interpolation is of cyclic velocity, which is not supported")
	}
	return nil
}

func (p *Parameters) checkWatches() error {
	if !(p.MaxMotorSpeed >= 0) || !(p.FollowingError >= 0) || !(p.PositionWindow >= 0) ||
		!(p.Overspeed >= 0) {
		return errors.New("drive: motor speed, windows and overspeed must not be negative")
	}
	if p.Overspeed > 0 && p.Overspeed <= p.MaxVelocity {
		return fmt.Errorf("drive: overspeed %v must be above the largest velocity %v",
			p.Overspeed, p.MaxVelocity)
	}
	return nil
}

// plain tells a drive that has none of the watches, no link and no safe function
// beside its STO.
func (p *Parameters) plain() bool {
	return p.MaxMotorSpeed == 0 && p.FollowingError == 0 && p.Overspeed == 0 &&
		p.BlockedTime == 0 && !p.PartnerInterlock && p.Thermal == Thermal{} && p.Link == Link{} &&
		p.Safety == Safety{}
}

// modes is object 6502.
func (p *Parameters) modes() uint32 {
	if p.Modes == 0 {
		return cia402.SupportedModes
	}
	return p.Modes
}
