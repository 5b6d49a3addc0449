package station

import (
	"math"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
)

// standstill finds the first instant after which the motors of an axis stay below its
// standstill rate for the hold time. Until the axis first moves it is at standstill.
type standstill struct {
	since   time.Duration
	below   bool
	reached bool
}

// watchStandstill carries the standstill of every axis to now.
func (s *Station) watchStandstill(now time.Duration) {
	rates := &s.Plant.State().MotorRate
	for a := range s.standstill {
		q := &s.standstill[a]
		limit := s.stillRate[a]
		first, count := plant.Axis(a).Motors()
		below := true
		for _, rate := range rates[first : first+count] {
			below = below && math.Abs(rate) < limit
		}
		if below == q.below && below == q.reached {
			continue
		}
		s.changeStandstill(plant.Axis(a), below, now)
	}
}

// changeStandstill does what a change or a hold that runs asks for.
func (s *Station) changeStandstill(a plant.Axis, below bool, now time.Duration) {
	q := &s.standstill[a]
	switch {
	case !below && q.reached:
		q.reached = false
		s.tellStandstill(a, now, 0)
	case below && !q.below:
		q.since = now
	case below && !q.reached && now-q.since >= s.set.Standstill[a].Hold:
		q.reached = true
		// The edge stands where standstill began, which is before now.
		s.tellStandstill(a, q.since, 1)
	}
	q.below = below
}

func (s *Station) tellStandstill(a plant.Axis, at time.Duration, level int64) {
	if s.watch != nil {
		s.watch.to.Edge(at, channel.Standstill.Of(plant.AxisNames[a]), level)
	}
}

// Still reports whether an axis is at standstill at the station's last step.
func (s *Station) Still(a plant.Axis) bool { return s.standstill[a].reached }
