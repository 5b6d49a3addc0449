package station

import (
	"math"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
)

// stillness finds the first instant after which the motors of an axis stay below
// its standstill rate for the hold time. Until the axis first moves it is still.
type stillness struct {
	since time.Duration
	below bool
	told  bool
}

// watchStillness carries the stillness of every axis to now.
func (s *Station) watchStillness(now time.Duration) {
	rates := &s.Plant.State().MotorRate
	for a := range s.still {
		q := &s.still[a]
		limit := s.stillRate[a]
		first, count := plant.Axis(a).Motors()
		below := true
		for _, rate := range rates[first : first+count] {
			below = below && math.Abs(rate) < limit
		}
		if below == q.below && below == q.told {
			continue
		}
		s.turnStillness(plant.Axis(a), below, now)
	}
}

// turnStillness does what a change or a hold that runs asks for.
func (s *Station) turnStillness(a plant.Axis, below bool, now time.Duration) {
	q := &s.still[a]
	switch {
	case !below && q.told:
		q.told = false
		s.tellStillness(a, now, 0)
	case below && !q.below:
		q.since = now
	case below && !q.told && now-q.since >= s.set.Standstill[a].Hold:
		q.told = true
		// The edge stands where the stillness began, which is before now.
		s.tellStillness(a, q.since, 1)
	}
	q.below = below
}

func (s *Station) tellStillness(a plant.Axis, at time.Duration, level int64) {
	if s.watch != nil {
		s.watch.to.Edge(at, channel.Standstill.Of(plant.AxisNames[a]), level)
	}
}

// Still tells whether an axis is at standstill at the station's last step.
func (s *Station) Still(a plant.Axis) bool { return s.still[a].told }
