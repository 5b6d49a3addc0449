package station

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/record"
)

// feel tells the mast the wind. The constant wind of the parameters is a load that the
// axes are tried under, and no weather: without any other the air is still.
func (s *Station) feel() {
	if a := &s.air; len(a.winds)+len(a.steps) > 0 {
		s.Mast.Feel(a.now.Speed, a.now.From)
		return
	}
	s.Mast.Feel(0, 0)
}

// leastOfMean is how much of a wind there must be to have a mean at all.
const leastOfMean = time.Minute

// becalmed counts the still air before the first wind, so that this one's beginning
// is no gust by itself.
func (a *air) becalmed(until time.Duration) {
	if a.told.Taken() > 0 {
		return
	}
	for range min(until, plant.WindMeanSpan) / plant.WindSamplePeriod {
		a.told.Add(0)
	}
}

// weigh takes a sample of the wind, and marks where it passes a limit for stowing as
// the stop cause that it is: a gust counts from its beginning.
func (s *Station) weigh(now time.Duration) {
	a, limit := &s.air, &s.set.StowWind
	a.told.Add(a.now.Speed)
	strong := limit.Gust > 0 && a.told.Latest() >= limit.Gust ||
		limit.Mean > 0 && a.told.Taken() >= leastOfMean && a.told.Mean() >= limit.Mean
	if strong && now >= a.strongUntil && s.watch != nil {
		s.watch.to.Mark(max(now-plant.WindGustSpan, 0), record.Cause, "wind", "", "")
	}
	if strong {
		a.strongUntil = now + strongLasts
	}
}

// strongLasts is how long a wind that eases for a moment is still the same one.
const strongLasts = time.Minute
