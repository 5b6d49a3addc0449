package station

import (
	"time"

	"haltmark/emulators/interlock"
	"haltmark/emulators/registers"
)

// interlockKind is the interlock unit with the safety relay in it.
func interlockKind() Kind {
	return Kind{
		Role: RoleInterlock, Each: Single, Key: "interlock_unit", Protocol: ModbusTCP,
		make: func(s *Station) (err error) {
			s.Interlock, err = interlock.New(s.set.Interlock)
			return err
		},
		bank:  func(s *Station, _ int) registers.Device { return s.Interlock },
		Place: AtInterlock,
		step: func(s *Station, now time.Duration) {
			s.Interlock.Step(now, &s.unit)
			s.idle = s.idle && s.contacts == contactsOf(s.Interlock)
		},
		due: func(s *Station, _ int) time.Duration { return s.Interlock.Holds() },
	}
}
