package drive

import (
	"errors"
	"fmt"
	"math"
	"time"

	"haltmark/bench/quantity"
)

// ServoMotors is how many motors a servo unit turns.
const ServoMotors = 2

// ServoParameters describe a servo unit by one of its two motors.
type ServoParameters struct {
	Motor Parameters      // torques and inertia of one motor
	Bias  quantity.Torque // by which each motor pulls against the other
}

// Servo is one drive for the two motors of an axis. It has one state machine and
// one wire face, whose torques are those of both motors together: 1000 per mille is
// twice the rated torque of one. Inside, it shares the torque, keeps the motors
// biased against each other while its power stage is on, and damps their play.
type Servo struct {
	Drive
	set    ServoParameters
	damper float64 // N m s/rad
	rates  [ServoMotors]float64
	torque [ServoMotors]float64
}

// ServoInput is what reaches a servo unit: the speeds and angles of its motors,
// as in Input, and the rest of Input, whose motor is not looked at.
type ServoInput struct {
	MotorRate, MotorPosition [ServoMotors]float64
	Input
}

// Check tells what is wrong with the parameters.
func (p ServoParameters) Check() error {
	err := p.Motor.Check()
	if !(p.Bias >= 0) || 2*p.Bias > p.Motor.PeakTorque {
		err = errors.Join(err, fmt.Errorf("drive: torque bias %v must be 0 to half of the peak "+
			"torque %v", p.Bias, p.Motor.PeakTorque))
	}
	return err
}

// unit is the parameters of both motors together.
func (p ServoParameters) unit() Parameters {
	u := p.Motor
	u.RatedTorque *= ServoMotors
	u.PeakTorque *= ServoMotors
	u.Inertia *= ServoMotors
	return u
}

// NewServo makes a unit without supply. It panics on parameters that Check refuses.
func NewServo(p ServoParameters) *Servo {
	if err := p.Check(); err != nil {
		panic(err)
	}
	return &Servo{
		Drive:  *New(p.unit()),
		set:    p,
		damper: 2 * math.Pi * float64(p.Motor.SpeedLoop) * float64(p.Motor.Inertia),
	}
}

// Step carries the unit to now. Its speed is the mean of its motors'.
func (s *Servo) Step(now time.Duration, in ServoInput) {
	first, second := in.MotorRate[0], in.MotorRate[1]
	in.Input.MotorRate = (first + second) / 2
	in.Input.MotorPosition = (in.MotorPosition[0] + in.MotorPosition[1]) / 2
	s.rates = in.MotorRate
	s.Drive.Step(now, in.Input)
	s.share()
}

// share splits the torque: half for each, the bias, and what damps the difference
// of their speeds. What one cannot give, the other does.
func (s *Servo) share() {
	if !s.PowerOn() {
		s.torque = [ServoMotors]float64{}
		return
	}
	whole, peak := s.Drive.Torque(), float64(s.set.Motor.PeakTorque)
	apart := float64(s.set.Bias) - float64(s.damper*((s.rates[0]-s.rates[1])/2))
	first := min(max(whole/2+apart, -peak), peak)
	second := min(max(whole-first, -peak), peak)
	first = min(max(whole-second, -peak), peak)
	s.torque = [ServoMotors]float64{first, second}
}

// MotorTorque is the torque on the shaft of motor 0 or 1, N m at the axis.
func (s *Servo) MotorTorque(motor int) float64 { return s.torque[motor] }
