package drive

import (
	"errors"
	"fmt"
	"math"
	"time"

	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
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
// It watches them against each other: where they differ for long, the feedback of one
// is not to be trusted, and the unit trips.
type Servo struct {
	Drive
	// Feedback may be changed between steps; all false is healthy.
	Feedback [ServoMotors]Feedback

	set    ServoParameters
	damper float64 // N m s/rad
	rates  [ServoMotors]float64
	turns  [ServoMotors]float64
	alike  time.Duration // when the motors last turned alike
	torque [ServoMotors]float64
}

// The motors of a unit turn alike, but for their play, within a share of the largest
// velocity; a difference that lasts is a sensor at fault (common practice).
const (
	apartShare = 0.5
	apartTime  = 30 * time.Millisecond
)

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
	for i := range s.Feedback {
		s.rates[i], s.turns[i] = s.Feedback[i].tell(in.MotorRate[i], in.MotorPosition[i],
			s.rates[i], s.turns[i])
	}
	in.Input.MotorRate = (s.rates[0] + s.rates[1]) / 2
	in.Input.MotorPosition = (s.turns[0] + s.turns[1]) / 2
	s.Drive.Step(now, in.Input)
	s.compare(now)
	s.share()
}

// compare trips the unit where its motors have differed for too long.
func (s *Servo) compare(now time.Duration) {
	if s.turnAlike(s.rates) || !s.PowerOn() {
		s.alike = now
	} else if now-s.alike >= apartTime {
		s.Trip(cia402.ErrorSensor)
	}
}

// turnAlike tells that motors turn as those of a unit do.
func (s *Servo) turnAlike(rates [ServoMotors]float64) bool {
	limit := apartShare * float64(s.set.Motor.MaxVelocity)
	return limit == 0 || math.Abs(rates[0]-rates[1]) <= limit
}

// Regime is that of its drive, which may be steady with a link, on sound feedback alone.
func (s *Servo) Regime() Regime {
	switch {
	case s.Feedback == [ServoMotors]Feedback{} && (s.plain || s.onMains()) && s.operates():
		return Steady
	case s.atRest():
		return AtRest
	}
	return Transient
}

// SteadyStep is Step for a unit in the Steady regime, before it is Due. It refuses, and does
// nothing, where its motors turn apart or its drive would trip.
func (s *Servo) SteadyStep(now time.Duration, rates, turns [ServoMotors]float64) bool {
	rate, turn := (rates[0]+rates[1])/2, (turns[0]+turns[1])/2
	if !s.turnAlike(rates) || !s.plain && !s.steadyLink(now, turn) {
		return false
	}
	s.rates, s.turns, s.alike = rates, turns, now
	if s.plain {
		s.Drive.SteadyStep(now, rate, turn)
	} else {
		s.adjust(now, rate, turn) // the voltage has changed since Regime
	}
	s.share()
	return true
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
