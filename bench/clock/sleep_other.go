//go:build !linux

package clock

import (
	"errors"
	"time"
)

// instant is the start of a world.
type instant struct{ start time.Time }

func startInstant() instant { return instant{start: time.Now()} }

func (i instant) since() time.Duration { return time.Since(i.start) }

// sleepUntil sleeps as precisely as Go can where there is no clock_nanosleep.
func (i instant) sleepUntil(when time.Duration) { time.Sleep(when - i.since()) }

func raisePriority() error { return errors.ErrUnsupported }
