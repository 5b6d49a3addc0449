package clock

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"
)

const (
	// coarse is how long before an instant a Go timer is left for the kernel's
	// precise sleep; Go timers are up to a millisecond late.
	coarse = 2 * time.Millisecond
	// eventSlice bounds how late an event is that was asked for while the
	// dispatcher was in its precise sleep.
	eventSlice = 200 * time.Microsecond
	// lookEvery is how often Run looks at its condition.
	lookEvery = 2 * time.Millisecond
)

// Wall runs processes as goroutines in real time, on threads of real-time
// priority where the system allows it. All methods may be called from any
// goroutine.
type Wall struct {
	start    instant
	world    *world
	late     *Lateness
	realTime atomic.Bool

	mu         sync.Mutex // guards what follows
	events     agenda
	dispatcher bool
	groups     []*wallGroup
	failure    error

	kick   chan struct{} // the agenda has a new first event
	closed chan struct{}
	once   sync.Once
	tasks  sync.WaitGroup // the dispatcher
}

// NewWall makes a clock whose time 0 is now.
func NewWall() *Wall {
	return &Wall{
		start: startInstant(), world: newWorld(), late: NewLateness(),
		kick: make(chan struct{}, 1), closed: make(chan struct{}),
	}
}

// Now implements Clock.
func (w *Wall) Now() time.Duration { return w.start.since() }

// At implements Clock.
func (w *Wall) At(when time.Duration, do func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	select {
	case <-w.closed:
		return
	default:
	}
	first := w.events.empty() || when < w.events.next()
	w.events.push(when, do)
	if !w.dispatcher {
		w.dispatcher = true
		w.tasks.Add(1)
		go w.dispatch()
	} else if first {
		select {
		case w.kick <- struct{}{}:
		default:
		}
	}
}

// Do implements Clock.
func (w *Wall) Do(do func()) {
	w.world.hold()
	defer w.world.release()
	do()
}

// Run implements Clock. A panic of a process or an event appears here.
func (w *Wall) Run(until time.Duration, done func() bool) bool {
	timer := newTimer()
	for {
		w.check()
		if done != nil {
			held := false
			w.Do(func() { held = done() })
			if held {
				return true
			}
		}
		next := until
		if left := until - w.Now(); left <= 0 {
			return false
		} else if left > lookEvery {
			next = w.Now() + lookEvery
		}
		w.pause(next, timer, w.closed, coarse)
	}
}

// Lateness is how late processes and events woke.
func (w *Wall) Lateness() *Lateness { return w.late }

// RealTime reports whether a process has got a thread of real-time priority.
func (w *Wall) RealTime() bool { return w.realTime.Load() }

// Pause waits until the given instant, or until cancel closes or is sent to,
// and reports whether the instant came. It is for goroutines outside every
// process.
func (w *Wall) Pause(until time.Duration, cancel <-chan struct{}) bool {
	return w.pause(until, newTimer(), cancel, eventSlice)
}

// Close stops every group and drops all events.
func (w *Wall) Close() {
	w.mu.Lock()
	w.once.Do(func() { close(w.closed) })
	groups := w.groups
	w.mu.Unlock()
	for _, g := range groups {
		g.Stop()
	}
	w.tasks.Wait()
}

// dispatch runs events when they are due.
func (w *Wall) dispatch() {
	defer w.tasks.Done()
	timer := newTimer()
	for {
		at, do := w.due()
		if do == nil {
			w.pause(at, timer, w.kick, eventSlice)
			select {
			case <-w.closed:
				return
			default:
			}
			continue
		}
		w.guard("event", func() { w.Do(func() { w.recordLate(at); do() }) })
	}
}

// due takes the first event when its time has come; else do is nil and at is
// when to look again.
func (w *Wall) due() (at time.Duration, do func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.events.empty() {
		return Never, nil
	}
	at = w.events.next()
	if at > w.Now() {
		return at, nil
	}
	return at, w.events.pop()
}

// recordLate notes that what was due at an instant happens only now.
func (w *Wall) recordLate(due time.Duration) {
	now := w.Now()
	w.late.Record(now, now-max(due, 0))
}

// guard keeps a panic for Run, so that it ends the run and not the program.
func (w *Wall) guard(what string, do func()) {
	defer func() {
		if r := recover(); r != nil {
			if _, ok := r.(stopped); ok {
				return
			}
			w.mu.Lock()
			defer w.mu.Unlock()
			if w.failure == nil {
				w.failure = fmt.Errorf("clock: %s: panic: %v\n%s", what, r, debug.Stack())
			}
		}
	}()
	do()
}

// check panics with the first panic of a process or an event.
func (w *Wall) check() {
	w.mu.Lock()
	err := w.failure
	w.mu.Unlock()
	if err != nil {
		panic(err)
	}
}

// pause waits until an instant: by the timer while it is far, then by the
// kernel in slices. It reports false when cancelled or closed before.
func (w *Wall) pause(
	until time.Duration, timer *time.Timer, cancel <-chan struct{}, slice time.Duration,
) bool {
	for {
		left := until - w.Now()
		switch {
		case left <= 0:
			return true
		case left > coarse:
			timer.Reset(left - coarse)
			select {
			case <-timer.C:
			case <-cancel:
				timer.Stop()
				return false
			case <-w.closed:
				timer.Stop()
				return false
			}
		default:
			select {
			case <-cancel:
				return false
			default:
			}
			w.start.sleepUntil(min(until, w.Now()+slice))
		}
	}
}

// newTimer makes a timer that is not running.
func newTimer() *time.Timer {
	t := time.NewTimer(time.Hour)
	t.Stop()
	return t
}

// lockThread gives the calling goroutine a thread of its own, of real-time
// priority where allowed. The thread ends with the goroutine.
func (w *Wall) lockThread() {
	runtime.LockOSThread()
	if raisePriority() == nil {
		w.realTime.Store(true)
	}
}
