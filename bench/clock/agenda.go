package clock

import "time"

// event is one entry of an agenda.
type event struct {
	at    time.Duration
	count uint64 // breaks ties in the order of asking
	do    func()
}

func (e *event) before(f *event) bool {
	return e.at < f.at || e.at == f.at && e.count < f.count
}

// agenda is a binary heap of events by (time, count). It keeps its slots, so
// that a steady load allocates nothing.
type agenda struct {
	heap  []event
	count uint64
}

func (a *agenda) empty() bool { return len(a.heap) == 0 }

// next is the time of the first event; the agenda must not be empty.
func (a *agenda) next() time.Duration { return a.heap[0].at }

func (a *agenda) push(at time.Duration, do func()) {
	a.count++
	e := event{at: at, count: a.count, do: do}
	a.heap = append(a.heap, e)
	i := len(a.heap) - 1
	for i > 0 {
		up := (i - 1) / 2
		if !e.before(&a.heap[up]) {
			break
		}
		a.heap[i] = a.heap[up]
		i = up
	}
	a.heap[i] = e
}

func (a *agenda) pop() func() {
	do := a.heap[0].do
	last := len(a.heap) - 1
	e := a.heap[last]
	a.heap[last].do = nil
	a.heap = a.heap[:last]
	if last > 0 {
		a.sink(e)
	}
	return do
}

// sink places e, starting at the root.
func (a *agenda) sink(e event) {
	i, n := 0, len(a.heap)
	for {
		down := 2*i + 1
		if down >= n {
			break
		}
		if r := down + 1; r < n && a.heap[r].before(&a.heap[down]) {
			down = r
		}
		if !a.heap[down].before(&e) {
			break
		}
		a.heap[i] = a.heap[down]
		i = down
	}
	a.heap[i] = e
}
