package station

import (
	"slices"
	"time"

	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/emulators/drive"
	"haltmark/emulators/encoder"
	"haltmark/emulators/interlock"
	"haltmark/emulators/nmea"
	"haltmark/emulators/registers"
	"haltmark/emulators/weather"
)

// Kinds lists every kind of device, in the order of the device sheet.
func Kinds() []Kind {
	return []Kind{encoderKind(), driveKind(), interlockKind(), mastKind()}
}

// emulators are the devices of a station.
type emulators struct {
	Encoders  [plant.AxisCount]*encoder.Encoder
	Drives    [plant.MotorCount]*drive.Drive
	servos    [plant.MainAxes]*drive.Servo // nil on an axis with a drive for each motor
	Interlock *interlock.Unit
	Mast      *weather.Mast // in the wind always, on the network where it has a seat
}

// Roles of devices.
const (
	RoleEncoder   Role = "encoder"
	RoleDrive     Role = "drive"
	RoleInterlock Role = "interlock"
	RoleMast      Role = "mast"
)

// encoderKind is the position encoder of each axis.
func encoderKind() Kind {
	return Kind{
		Role: RoleEncoder, Of: plant.AxisNames[:], Key: "encoders", Protocol: modbusTCP(),
		make: func(s *Station) error {
			for a := range s.Encoders {
				s.Encoders[a] = encoder.New(s.set.Encoders[a])
			}
			return nil
		},
		bank:  func(s *Station, axis int) registers.Device { return s.Encoders[axis] },
		Place: AtEncoders,
		step: func(s *Station, now time.Duration) {
			if s.n%encoderSteps == 0 {
				s.stepEncoders(now)
			}
		},
		due: func(s *Station, axis int) time.Duration { return s.Encoders[axis].Due() },
		faults: func() []faultKind {
			return slices.Concat(encoderFaults(), secondHeadFaults())
		},
		paced: true,
	}
}

// driveKind is the drive of each motor; the second motor of a servo unit has the first
// one's.
func driveKind() Kind {
	return Kind{
		Role: RoleDrive, Of: plant.MotorNames[:], Key: "drives", Protocol: modbusTCP(),
		make:   (*Station).makeDrives,
		bank:   func(s *Station, motor int) registers.Device { return s.Drives[motor] },
		within: (*Station).shares,
		Place:  AtDrives,
		step:   (*Station).stepDrives,
		due:    func(s *Station, motor int) time.Duration { return s.Drives[motor].Due() },
		faults: driveFaults,
	}
}

// interlockKind is the interlock unit with the safety relay in it.
func interlockKind() Kind {
	return Kind{
		Role: RoleInterlock, Of: []string{""}, Key: "interlock_unit", Protocol: modbusTCP(),
		make: func(s *Station) (err error) {
			s.Interlock, err = interlock.New(s.set.Interlock)
			return err
		},
		bank:   func(s *Station, _ int) registers.Device { return s.Interlock },
		Place:  AtInterlock,
		step:   func(s *Station, now time.Duration) { s.Interlock.Step(now, &s.unit) },
		due:    func(s *Station, _ int) time.Duration { return s.Interlock.Due() },
		faults: interlockFaults,
	}
}

// mastKind is the weather mast. It stands in the wind always, on the network where it has
// a seat, and speaks at whole seconds to whoever is connected, which is a look each time.
func mastKind() Kind {
	return Kind{
		Role: RoleMast, Of: []string{""}, Key: "mast", Optional: true, Unasked: true,
		Protocol: nmea0183(),
		make: func(s *Station) error {
			set := weather.Parameters{Reference: nmea.True, Unit: nmea.MetresPerSecond}
			if s.set.Seat(RoleMast, 0) != nil {
				set = s.set.Mast
			}
			s.Mast = weather.New(set)
			return set.Check()
		},
		open:   func(s *Station, _ int) link.Session { return s.Mast.Open() },
		Place:  InWind,
		step:   func(s *Station, _ time.Duration) { s.feel() },
		due:    func(*Station, int) time.Duration { return never },
		faults: mastFaults,
	}
}

func modbusTCP() Protocol {
	return Protocol{Name: "modbus-tcp", Network: "tcp", Units: true, framing: link.ModbusTCP}
}

func nmea0183() Protocol {
	return Protocol{Name: "nmea-0183", Network: "tcp", framing: nmea.Frame}
}
