package clock

import (
	"math"
	"time"
)

// Never is a deadline that does not come.
const Never = time.Duration(math.MaxInt64)

// Clock is the time of one world.
type Clock interface {
	// Now is the time since the world's start.
	Now() time.Duration
	// At has do called at the given instant, outside every process and with
	// every process held still; an instant in the past means now. Events of
	// one instant run in the order in which they were asked for, and before
	// the processes that wake at that instant. It may be called from anywhere.
	At(when time.Duration, do func())
	// Group makes an empty group of processes.
	Group(name string) Group
	// Do calls do with every process and event held still. It is for callers
	// outside: never call it inside a process, an event or another Do.
	Do(do func())
	// Run lets the world go on until the given instant, or until done, which
	// may be nil, holds; it reports whether done held. Done is looked at first
	// and then after every event or process step (Virtual), or every few
	// milliseconds with everything held still (Wall). From outside only.
	Run(until time.Duration, done func() bool) bool
}

// Group is a set of processes that share one baton: at most one of them runs.
type Group interface {
	// Start adds a process, which runs body from now on. A group that was
	// stopped may be started again.
	Start(name string, body func(Process))
	// Stop ends all processes of the group where they wait, by a panic that
	// only their root recovers, and returns when they have ended. A process
	// must not stop its own group: return instead. Deferred calls of a
	// stopped process run without the baton.
	Stop()
}

// Process is what a process may ask of its clock. Inside a process there is no
// other way to wait: no channel, timer, goroutine or blocking call.
type Process interface {
	Now() time.Duration
	// SleepUntil returns at the given instant, at once when it has passed.
	SleepUntil(when time.Duration)
	// Wait returns true when the signal is raised and false at the deadline.
	// A signal raised while nobody waited ends the next wait at once, so the
	// caller checks what it waited for and may wait again.
	Wait(s *Signal, deadline time.Duration) bool
}

// stopped is the panic value that ends a process; only its root recovers it.
type stopped struct{}

// recoverStopped is deferred at the root of a process. It lets every panic
// but stopped through.
func recoverStopped() {
	if r := recover(); r != nil {
		if _, ok := r.(stopped); !ok {
			panic(r)
		}
	}
}
