package record

import (
	"iter"
	"time"
)

// EdgesOf returns the edges of a discrete channel: instants and values. ok is
// false when the channel has none.
func (r *Record) EdgesOf(channel string) (at []time.Duration, value []int64, ok bool) {
	r.Index()
	s := r.index[channel]
	if s == nil {
		return nil, nil, false
	}
	return s.at, s.value, true
}

// SamplesOf returns the samples of a channel: instants and SI values.
func (r *Record) SamplesOf(channel string) (at []time.Duration, value []float64, ok bool) {
	r.Index()
	c, ok := r.place[channel]
	if !ok {
		return nil, nil, false
	}
	return r.At, r.Values(c), true
}

// ExtremesOf returns the least and the greatest value of each interval, by the
// instant at which the interval ends. ok is false for a channel without extremes.
func (r *Record) ExtremesOf(channel string) (at []time.Duration, bounds [2][]float64, ok bool) {
	r.Index()
	c, ok := r.place[channel]
	if !ok || !r.Channels[c].Extremes {
		return nil, bounds, false
	}
	return r.At, [2][]float64{r.Low(c), r.High(c)}, true
}

// EachMark goes through the marks in order: instant, then kind, name, axis, text.
func (r *Record) EachMark() iter.Seq2[time.Duration, [4]string] {
	return func(yield func(time.Duration, [4]string) bool) {
		for _, m := range r.Marks {
			if !yield(m.At, [4]string{m.Kind, m.Name, m.Axis, m.Text}) {
				return
			}
		}
	}
}
