package station

import (
	"time"

	"haltmark/emulators/encoder"
	"haltmark/emulators/registers"
)

// encoderKind is the position encoder of each axis.
func encoderKind() Kind {
	return Kind{
		Role: RoleEncoder, Each: EachAxis, Key: "encoders", Protocol: ModbusTCP,
		make: func(s *Station) error {
			for a := range s.Encoders {
				s.Encoders[a] = encoder.New(s.set.Encoders[a])
			}
			return nil
		},
		bank:  func(s *Station, axis int) registers.Device { return s.Encoders[axis] },
		Place: AtEncoders,
		step: func(s *Station, now time.Duration) {
			if s.n%encoderSteps != 0 {
				return
			}
			for a := range s.Encoders {
				s.stepEncoder(a, now)
			}
		},
		due:   func(s *Station, axis int) time.Duration { return s.Encoders[axis].Holds() },
		paced: true,
	}
}
