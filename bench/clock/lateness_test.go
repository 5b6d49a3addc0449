package clock_test

import (
	"slices"
	"testing"
	"time"

	"haltmark/bench/clock"
)

func TestLateness(t *testing.T) {
	const ms, us = time.Millisecond, time.Microsecond
	l := clock.NewLateness()
	l.Record(20*ms, 5*us)
	l.Record(99*ms, 9*us)
	l.Record(100*ms, 2*us)
	l.Record(350*ms, -3*us) // early is not late
	l.Record(90*ms, 7*us)   // out of order
	l.Record(250*ms, 4*us)
	want := []clock.LateWindow{
		{At: 0, Largest: 9 * us}, {At: 100 * ms, Largest: 2 * us},
		{At: 200 * ms, Largest: 4 * us}, {At: 300 * ms},
	}
	if got := l.Windows(); !slices.Equal(got, want) {
		t.Errorf("windows %v, want %v", got, want)
	}
	for _, row := range []struct{ from, to, want time.Duration }{
		{0, 50 * ms, 9 * us}, {99 * ms, 99 * ms, 9 * us}, {100 * ms, 199 * ms, 2 * us},
		{150 * ms, 210 * ms, 4 * us}, {300 * ms, 400 * ms, 0}, {500 * ms, 600 * ms, 0},
	} {
		if got := l.Between(row.from, row.to); got != row.want {
			t.Errorf("between %v and %v: %v, want %v", row.from, row.to, got, row.want)
		}
	}
	if got := l.Largest(); got != 9*us {
		t.Errorf("largest %v, want 9us", got)
	}
}

// What was forgotten still counts for the time before what is kept.
func TestLatenessIsBounded(t *testing.T) {
	l := clock.NewLateness()
	l.Record(0, time.Second)
	for n := range time.Duration(100_000) {
		l.Record(n*100*time.Millisecond, time.Microsecond)
	}
	if n := len(l.Windows()); n > 36_000 {
		t.Errorf("%d windows are kept", n)
	}
	if got := l.Between(time.Minute, time.Minute); got < time.Microsecond {
		t.Errorf("lateness of what was forgotten is %v", got)
	}
	if got := l.Between(0, time.Minute); got != time.Second {
		t.Errorf("the largest of what was forgotten is %v, want 1s", got)
	}
	if got := l.Between(9_999*time.Second, 9_999*time.Second); got != time.Microsecond {
		t.Errorf("lateness of what is kept is %v, want 1us", got)
	}
}

// Both what wakes late and what happens late is recorded.
func TestWallRecordsLateness(t *testing.T) {
	w := clock.NewWall()
	defer w.Close()
	woke := false
	w.Group("g").Start("p", func(p clock.Process) {
		p.SleepUntil(p.Now() + soon)
		woke = true
	})
	until(t, w, func() bool { return woke })
	if w.Lateness().Largest() <= 0 || len(w.Lateness().Windows()) == 0 {
		t.Error("a process woke without any lateness")
	}
	t.Logf("largest lateness %v, real-time priority %v", w.Lateness().Largest(), w.RealTime())
}
