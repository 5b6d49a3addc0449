package verdict

import (
	"time"

	"haltmark/bench/channel"
)

// chainSpan is more than the steps that a contact of the enable chain takes.
const chainSpan = 2 * time.Millisecond

// chainOpen reports whether the enable chain of a motor was open at an instant.
func (s *scene) chainOpen(motor string, at time.Duration) bool {
	sto, err := s.levels(channel.STO.Of(motor))
	return err == nil && sto.level(at+chainSpan) == 1
}

// finalLimits are the instants at which a final limit opened, its override key apart.
func finalLimits(s *scene, _ Requirement) ([]occasion, error) {
	key, err := s.levels(channel.Override)
	if err != nil {
		return nil, err
	}
	var found []occasion
	for _, axis := range mainAxes() {
		for _, end := range endNames() {
			contact, err := s.levels(channel.FinalLimit.At(axis, end))
			if err != nil {
				return nil, err
			}
			for _, at := range contact.rises(s.from, s.until) {
				if key.level(at) == 0 {
					found = append(found, occasion{axis: axis, end: end, from: at})
				}
			}
		}
	}
	return found, nil
}

// chainMissed counts the motors whose enable chain did not open with the final limit.
// No network is as quick as a wire.
func chainMissed(s *scene, o occasion) (reading, error) {
	r := reading{from: o.from, until: o.from + chainSpan, at: o.from}
	for _, motor := range motorsOf(o.axis) {
		if !s.chainOpen(motor, o.from) {
			r.value++
			r.note = "the enable chain of " + motor + " stayed closed"
		}
	}
	return r, nil
}
