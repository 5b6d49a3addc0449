package encoder

import "time"

// LatencyMax bounds how late an encoder tells what it has seen.
const LatencyMax = time.Second

// history delays a value by a span. It begins with the first value that it is
// given: until the span has passed it tells that one.
type history struct {
	span    time.Duration
	samples []sample
	first   int // the oldest that may still be told
}

type sample struct {
	at    time.Duration
	value float64
}

// begin empties the history and sets its span.
func (h *history) begin(span time.Duration) {
	*h = history{span: span, samples: h.samples[:0]}
}

// delay takes in the value of now and gives back that of a span before.
func (h *history) delay(now time.Duration, value float64) float64 {
	if h.first > 0 && len(h.samples) == cap(h.samples) {
		h.samples = h.samples[:copy(h.samples, h.samples[h.first:])]
		h.first = 0
	}
	h.samples = append(h.samples, sample{now, value})
	for h.first+1 < len(h.samples) && h.samples[h.first+1].at <= now-h.span {
		h.first++
	}
	return h.samples[h.first].value
}
