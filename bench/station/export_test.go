package station

import "time"

// TakeEveryStep switches fast-forward off.
func TakeEveryStep(s *Station) { s.everyStep = true }

// CountOrdinarySteps counts them from here on.
func CountOrdinarySteps(s *Station) *int64 {
	n := new(int64)
	s.steps = append(s.steps, func(*Station, time.Duration) { *n++ })
	return n
}
