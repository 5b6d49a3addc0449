package station

import (
	"fmt"
	"time"

	"haltmark/bench/plant"
	"haltmark/emulators/drive"
)

// makeDrives makes the drive of each motor, or the unit of both.
func (s *Station) makeDrives() error {
	for m := range s.Drives {
		p := &s.set.Drives[m]
		if err := p.Check(); err != nil {
			return fmt.Errorf("%s: %w", plant.MotorNames[m], err)
		}
		if !p.Servo {
			s.Drives[m] = drive.New(p.Parameters)
			continue
		}
		if err := s.makeServo(m); err != nil {
			return fmt.Errorf("%s: %w", plant.MotorNames[m], err)
		}
	}
	return nil
}

// makeServo makes the unit at its first motor. Both motors then have its one face.
func (s *Station) makeServo(m int) error {
	axis := plant.MotorAxis[m]
	first, count := axis.Motors()
	if count != drive.ServoMotors {
		return fmt.Errorf("a servo unit turns %d motors, the axis has %d", drive.ServoMotors, count)
	}
	own, other := &s.set.Drives[m], &s.set.Drives[2*first+1-m]
	seat, otherSeat := s.set.Seat(RoleDrive, m), s.set.Seat(RoleDrive, 2*first+1-m)
	if !other.Servo || other.Parameters != own.Parameters || other.Bias != own.Bias ||
		otherSeat.Endpoint != seat.Endpoint || otherSeat.Unit != seat.Unit {
		return fmt.Errorf("a servo unit is both motors': one set of parameters, one seat")
	}
	if m == first {
		p := drive.ServoParameters{Motor: own.Parameters, Bias: own.Bias}
		if err := p.Check(); err != nil {
			return err
		}
		s.servos[axis] = drive.NewServo(p)
	}
	s.Drives[m] = &s.servos[axis].Drive
	return nil
}

// shares tells the second motor of a servo unit, which has no seat of its own.
func (s *Station) shares(m int) bool {
	first, _ := plant.MotorAxis[m].Motors()
	return s.set.Drives[m].Servo && m != first
}

// stepServo is stepDrive for the unit of an axis.
func (s *Station) stepServo(a plant.Axis, demanded bool, now time.Duration) {
	state, u := s.Plant.State(), s.servos[a]
	first, count := a.Motors()
	in := drive.ServoInput{Input: drive.Input{STO: demanded, Supplied: true, Supply: 1,
		Safe: s.safe[a]}}
	for i := range count {
		m := first + i
		supplied, voltage := s.supplied(m) // one unit: what either lacks, both do
		g := s.field.gearing[m]
		in.MotorRate[i], in.MotorPosition[i] = g*state.MotorRate[m], g*state.MotorPosition[m]
		in.Supplied, in.Supply = in.Supplied && supplied, min(in.Supply, voltage)
	}
	u.Step(now, in)
	for i := range count {
		s.in.MotorTorque[first+i] = s.field.gearing[first+i] * u.MotorTorque(i)
		s.noteDrive(first+i, demanded)
	}
}

// steadyServo is stepServo for a unit in the steady regime; false without a step where it
// may not.
func (s *Station) steadyServo(a plant.Axis, now time.Duration) bool {
	state, u := s.Plant.State(), s.servos[a]
	first, count := a.Motors()
	var rates, positions [drive.ServoMotors]float64
	for i := range count {
		g := s.field.gearing[first+i]
		rates[i], positions[i] = g*state.MotorRate[first+i], g*state.MotorPosition[first+i]
	}
	if !u.SteadyStep(now, rates, positions) {
		return false
	}
	for i := range count {
		s.in.MotorTorque[first+i] = s.field.gearing[first+i] * u.MotorTorque(i)
	}
	return true
}

// servoOf is the servo unit of an axis, nil where each motor has a drive.
func (s *Station) servoOf(a plant.Axis) *drive.Servo {
	if !a.Main() {
		return nil
	}
	return s.servos[a]
}

// stepOne is the step of a motor's drive, or with the first motor of an axis the one
// of its unit.
func (s *Station) stepOne(m int, demanded bool, now time.Duration) {
	a := plant.MotorAxis[m]
	if s.servoOf(a) == nil {
		s.stepDrive(m, demanded, now)
	} else if !s.shares(m) {
		s.stepServo(a, demanded, now)
	}
}

// partnerOff is the healthy contact of the axis's other drive, where it is wired.
func (s *Station) partnerOff(m int) bool {
	if !s.set.Drives[m].PartnerInterlock {
		return false
	}
	first, count := plant.MotorAxis[m].Motors()
	return count == drive.ServoMotors && !s.Drives[2*first+1-m].Healthy()
}
