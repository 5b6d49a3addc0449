package clock

import (
	"sync"
	"time"
)

// lateWindow is the width of one window of Lateness.
const lateWindow = 100 * time.Millisecond

// lateKept is how many windows are kept: one hour.
const lateKept = 36000

// Lateness keeps how late something happened: the largest lateness of each
// 100 ms in which something was recorded. It is safe for concurrent use.
type Lateness struct {
	mu      sync.Mutex
	windows []LateWindow // by time; at most lateKept
	dropped time.Duration
	largest time.Duration
}

// LateWindow is the largest lateness recorded in [At, At + 100 ms).
type LateWindow struct{ At, Largest time.Duration }

// NewLateness makes an empty record.
func NewLateness() *Lateness { return &Lateness{} }

// Record notes a lateness seen at an instant; a negative one counts as 0.
// Instants may come slightly out of order.
func (l *Lateness) Record(at, late time.Duration) {
	late = max(late, 0)
	start := at - at%lateWindow
	l.mu.Lock()
	defer l.mu.Unlock()
	l.largest = max(l.largest, late)
	i := len(l.windows)
	for i > 0 && l.windows[i-1].At > start {
		i--
	}
	if i > 0 && l.windows[i-1].At == start {
		l.windows[i-1].Largest = max(l.windows[i-1].Largest, late)
		return
	}
	l.windows = append(l.windows, LateWindow{})
	copy(l.windows[i+1:], l.windows[i:])
	l.windows[i] = LateWindow{At: start, Largest: late}
	if len(l.windows) > lateKept {
		l.forget()
	}
}

// forget drops the older half; Between then answers for it with its largest.
func (l *Lateness) forget() {
	half := len(l.windows) / 2
	for _, w := range l.windows[:half] {
		l.dropped = max(l.dropped, w.Largest)
	}
	l.windows = append(l.windows[:0], l.windows[half:]...)
}

// Largest is the largest lateness ever recorded.
func (l *Lateness) Largest() time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.largest
}

// Between is the largest lateness recorded in the windows that touch the span
// from..to. For a span older than what is kept it is never too small.
func (l *Lateness) Between(from, to time.Duration) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	var worst time.Duration
	if len(l.windows) > 0 && from < l.windows[0].At {
		worst = l.dropped
	}
	for _, w := range l.windows {
		if w.At+lateWindow > from && w.At <= to {
			worst = max(worst, w.Largest)
		}
	}
	return worst
}

// Windows copies what is kept, by time.
func (l *Lateness) Windows() []LateWindow {
	l.mu.Lock()
	defer l.mu.Unlock()
	return append([]LateWindow(nil), l.windows...)
}
