package clock

import (
	"time"

	"golang.org/x/sys/unix"
)

// priority of process threads: above every ordinary thread, below the
// kernel's own (SCHED_FIFO knows 1 to 99, sched(7)).
const priority = 40

// instant is the start of a world on both the Go clock, which is cheap to
// read, and CLOCK_MONOTONIC, on which the kernel sleeps.
type instant struct {
	start     time.Time
	monotonic int64 // ns
}

// startInstant pairs the two clocks by the tightest of a few readings.
func startInstant() instant {
	var best instant
	gap := time.Duration(Never)
	for range 8 {
		var ts unix.Timespec
		before := time.Now()
		if err := unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts); err != nil {
			panic("clock: no CLOCK_MONOTONIC: " + err.Error())
		}
		if g := time.Since(before); g < gap {
			gap = g
			best = instant{start: before, monotonic: ts.Nano() - int64(g/2)}
		}
	}
	return best
}

func (i instant) since() time.Duration { return time.Since(i.start) }

// sleepUntil sleeps to an absolute instant. It may return early.
func (i instant) sleepUntil(when time.Duration) {
	ts := unix.NsecToTimespec(i.monotonic + int64(when))
	// The only error is an interruption, after which the caller looks again.
	_ = unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &ts, nil)
}

// raisePriority makes the calling thread a real-time one.
func raisePriority() error {
	return unix.SchedSetAttr(0, &unix.SchedAttr{
		Size:     unix.SizeofSchedAttr,
		Policy:   unix.SCHED_FIFO,
		Flags:    unix.SCHED_FLAG_RESET_ON_FORK,
		Priority: priority,
	}, 0)
}
