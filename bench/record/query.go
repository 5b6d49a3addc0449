package record

import (
	"iter"
	"math"
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

// LevelAt is the value of a discrete channel at an instant, its edge included;
// ok is false before its first edge.
func (r *Record) LevelAt(channel string, at time.Duration) (value int64, ok bool) {
	when, values, ok := r.EdgesOf(channel)
	if !ok {
		return 0, false
	}
	i := firstAfter(when, at)
	if i == 0 {
		return 0, false
	}
	return values[i-1], true
}

// FirstEdge is the first edge of a discrete channel to a value, at an instant or
// later.
func (r *Record) FirstEdge(channel string, value int64, from time.Duration) (time.Duration, bool) {
	when, values, _ := r.EdgesOf(channel)
	for i := firstAfter(when, from-1); i < len(when); i++ {
		if values[i] == value {
			return when[i], true
		}
	}
	return 0, false
}

// ValueAt is a channel's value at an instant, straight between its samples; ok
// is false outside of them.
func (r *Record) ValueAt(channel string, at time.Duration) (float64, bool) {
	when, values, ok := r.SamplesOf(channel)
	if !ok || len(when) == 0 || at < when[0] || at > when[len(when)-1] {
		return 0, false
	}
	i := firstAfter(when, at)
	if i == len(when) || when[i-1] == at {
		return values[i-1], true
	}
	share := float64(at-when[i-1]) / float64(when[i]-when[i-1])
	return values[i-1] + float64(share*(values[i]-values[i-1])), true
}

// Range returns the indices of the samples from an instant to another, both
// included: At[first:end].
func (r *Record) Range(from, until time.Duration) (first, end int) {
	first = firstAfter(r.At, from-1)
	return first, max(first, firstAfter(r.At, until))
}

// Peak is the least and the greatest value of a channel in a window: its values
// at both ends, the samples between them and, where they are kept, the extremes
// of the intervals that lie wholly inside. ok is false where nothing is known.
func (r *Record) Peak(channel string, from, until time.Duration) (low, high float64, ok bool) {
	when, values, known := r.SamplesOf(channel)
	if !known || until < from {
		return 0, 0, false
	}
	low, high = math.Inf(1), math.Inf(-1)
	take := func(v float64) { low, high, ok = min(low, v), max(high, v), true }
	for _, at := range [2]time.Duration{from, until} {
		if v, known := r.ValueAt(channel, at); known {
			take(v)
		}
	}
	_, bounds, extremes := r.ExtremesOf(channel)
	first, end := r.Range(from, until)
	for i := first; i < end; i++ {
		take(values[i])
		whole := i > 0 && when[i-1] >= from
		if extremes && whole && bounds[0][i] <= bounds[1][i] {
			take(bounds[0][i])
			take(bounds[1][i])
		}
	}
	return low, high, ok
}
