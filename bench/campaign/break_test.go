package campaign

import (
	"errors"
	"testing"
	"time"

	"haltmark/bench/clock"
)

// A wait on a clock that is told to stop is left at once, whoever waits for what.
// Virtual time shows it: the event at one second stops what waits for an hour.
func TestBreakable_LeavesAWait(t *testing.T) {
	for _, done := range []func() bool{nil, func() bool { return false }} {
		c, stopped := clock.NewVirtual(), false
		c.At(time.Second, func() { stopped = true })
		b := breakable{c, func() bool { return stopped }}
		if b.Run(time.Millisecond, done) {
			t.Error("it held before anything stopped it")
		}
		func() {
			defer func() {
				if err, _ := recover().(error); !errors.Is(err, ErrStopped) {
					t.Errorf("left with %v; want ErrStopped", err)
				}
			}()
			b.Run(time.Hour, done)
		}()
		if c.Now() != time.Second {
			t.Errorf("left at %v; want 1s", c.Now())
		}
	}
}
