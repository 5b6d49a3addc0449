package plant

import (
	"time"

	"haltmark/bench/quantity"
)

// How the trade tells a wind: its mean over 10 min, and as its gust the largest
// mean over 3 s within them; sampled each 0.25 s (WMO-No. 8, from memory).
const (
	WindMeanSpan     = 10 * time.Minute
	WindGustSpan     = 3 * time.Second
	WindSamplePeriod = 250 * time.Millisecond

	windKept    = int(WindMeanSpan / WindSamplePeriod)
	windsInGust = int(WindGustSpan / WindSamplePeriod)
)

// WindAverages keeps the last 10 min of a wind's speed. The zero value has none.
type WindAverages struct {
	speeds, gusts [windKept]float64 // rings
	count         int               // samples ever taken
}

// Add takes the speed in, once each WindSamplePeriod. It does not allocate.
func (w *WindAverages) Add(speed quantity.Speed) {
	w.speeds[w.count%windKept] = float64(speed)
	w.count++
	over, sum := min(w.count, windsInGust), 0.0
	for i := w.count - over; i < w.count; i++ {
		sum += w.speeds[i%windKept]
	}
	w.gusts[(w.count-1)%windKept] = sum / float64(over)
}

// Latest returns the mean over the last 3 s, or over what there is of them.
func (w *WindAverages) Latest() quantity.Speed {
	if w.count == 0 {
		return 0
	}
	return quantity.Speed(w.gusts[(w.count-1)%windKept])
}

// Taken returns how long the samples reach back, at most 10 min.
func (w *WindAverages) Taken() time.Duration {
	return time.Duration(w.kept()) * WindSamplePeriod
}

// Mean returns the mean over the last 10 min, or over what there is of them;
// zero without a sample.
func (w *WindAverages) Mean() quantity.Speed {
	kept, sum := w.kept(), 0.0
	for _, speed := range w.speeds[:kept] {
		sum += speed
	}
	return quantity.Speed(sum / float64(max(kept, 1)))
}

// Gust returns the largest mean over 3 s that ended within the last 10 min. While
// there are not yet 3 s, what there is counts as them.
func (w *WindAverages) Gust() quantity.Speed {
	largest := 0.0
	for _, speed := range w.gusts[:w.kept()] {
		largest = max(largest, speed)
	}
	return quantity.Speed(largest)
}

func (w *WindAverages) kept() int { return min(w.count, windKept) }
