package station

import (
	"sort"
	"time"
)

// entry is something that happens at an exact plant step: at a time, or at the
// first step at which a condition holds.
type entry struct {
	at    time.Duration
	count int64 // order of entry, for equal times
	when  func() bool
	do    func(now time.Duration)
}

// agenda holds what stands in the passing of time.
type agenda struct {
	timed   []entry // sorted by time, then order of entry
	waiting []entry // in order of entry
	count   int64
}

func (a *agenda) at(when time.Duration, do func(now time.Duration)) {
	a.count++
	e := entry{at: when, count: a.count, do: do}
	i := sort.Search(len(a.timed), func(i int) bool { return a.timed[i].at > when })
	a.timed = append(a.timed, entry{})
	copy(a.timed[i+1:], a.timed[i:])
	a.timed[i] = e
}

func (a *agenda) when(condition func() bool, do func(now time.Duration)) {
	a.count++
	a.waiting = append(a.waiting, entry{count: a.count, when: condition, do: do})
}

// run does everything that is due at this step. What it adds for the same instant is done
// in the same step.
func (a *agenda) run(now time.Duration) {
	for len(a.timed) > 0 && a.timed[0].at <= now {
		e := a.timed[0]
		a.timed = a.timed[:copy(a.timed, a.timed[1:])]
		e.do(now)
	}
	for i := 0; i < len(a.waiting); {
		e := a.waiting[i]
		if !e.when() {
			i++
			continue
		}
		a.waiting = append(a.waiting[:i], a.waiting[i+1:]...)
		e.do(now)
	}
}

// due is when anything happens next; a condition that is waited for may hold at any step.
func (a *agenda) due() time.Duration {
	switch {
	case len(a.waiting) > 0:
		return 0
	case len(a.timed) > 0:
		return a.timed[0].at
	}
	return never
}
