package clock_test

import (
	"runtime"
	"slices"
	"testing"
	"time"

	"haltmark/bench/clock"
)

// soon is a span that a test waits, patience one that no healthy machine
// exceeds; both cost time only on the wall clock.
const (
	soon     = 5 * time.Millisecond
	patience = 20 * time.Second
)

// onBoth runs one test on both clocks and checks that no goroutine is left.
func onBoth(t *testing.T, test func(*testing.T, clock.Clock)) {
	for _, row := range []struct {
		name string
		make func() (c clock.Clock, end func())
	}{
		{"virtual", func() (clock.Clock, func()) { v := clock.NewVirtual(); return v, v.Close }},
		{"wall", func() (clock.Clock, func()) { w := clock.NewWall(); return w, w.Close }},
	} {
		t.Run(row.name, func(t *testing.T) {
			before := runtime.NumGoroutine()
			c, end := row.make()
			test(t, c)
			end()
			for range 10_000_000 {
				if runtime.NumGoroutine() <= before {
					return
				}
				runtime.Gosched()
			}
			t.Errorf("%d goroutines are left, want %d", runtime.NumGoroutine(), before)
		})
	}
}

// until runs the clock until a condition holds, and fails when it never does.
func until(t *testing.T, c clock.Clock, done func() bool) {
	t.Helper()
	if !c.Run(c.Now()+patience, done) {
		t.Fatal("the condition never held")
	}
}

func TestSleepUntil(t *testing.T) {
	onBoth(t, func(t *testing.T, c clock.Clock) {
		cycles := 0
		c.Group("g").Start("p", func(p clock.Process) {
			start := p.Now()
			for n := range time.Duration(5) {
				p.SleepUntil(start + n*soon)
				if p.Now() < start+n*soon {
					t.Errorf("woke at %v, before %v", p.Now(), start+n*soon)
				}
				cycles++
			}
			p.SleepUntil(0) // long ago
		})
		until(t, c, func() bool { return cycles == 5 })
	})
}

func TestEventsRunInOrder(t *testing.T) {
	onBoth(t, func(t *testing.T, c clock.Clock) {
		var got []int
		note := func(n int) func() { return func() { got = append(got, n) } }
		c.Do(func() {
			at := c.Now() + soon
			c.At(at+soon, note(3))
			c.At(at, note(1))
			c.At(at, func() { c.At(at+soon, note(4)); note(2)() })
			c.At(0, note(0)) // the past is now
		})
		until(t, c, func() bool { return len(got) == 5 })
		if want := []int{0, 1, 2, 3, 4}; !slices.Equal(got, want) {
			t.Errorf("order %v, want %v", got, want)
		}
	})
}

func TestWait(t *testing.T) {
	onBoth(t, func(t *testing.T, c clock.Clock) {
		var s clock.Signal
		var got []bool
		g := c.Group("g")
		g.Start("p", func(p clock.Process) {
			got = append(got, p.Wait(&s, p.Now()+soon)) // nobody raises
			c.At(p.Now()+soon, s.Raise)
			got = append(got, p.Wait(&s, clock.Never))
			s.Raise()
			s.Raise() // counts once
			got = append(got, p.Wait(&s, clock.Never), p.Wait(&s, p.Now()+soon))
			s.Raise()
			got = append(got, p.Wait(&s, 0), p.Wait(&s, 0)) // only looks
		})
		until(t, c, func() bool { return len(got) == 6 })
		if want := []bool{false, true, true, false, true, false}; !slices.Equal(got, want) {
			t.Errorf("waits gave %v, want %v", got, want)
		}
	})
}

func TestRaiseWakesEveryWaiter(t *testing.T) {
	onBoth(t, func(t *testing.T, c clock.Clock) {
		var s clock.Signal
		waiting, woken := 0, 0
		g := c.Group("g")
		for range 3 {
			g.Start("p", func(p clock.Process) {
				waiting++
				if p.Wait(&s, clock.Never) {
					woken++
				}
			})
		}
		// The last to count may not wait yet: raise until all have woken.
		until(t, c, func() bool { return waiting == 3 })
		until(t, c, func() bool { s.Raise(); return woken == 3 })
	})
}

// One baton: processes of a group never run together, and a Do not with them.
func TestBaton(t *testing.T) {
	onBoth(t, func(t *testing.T, c clock.Clock) {
		g := c.Group("g")
		inside, turns := 0, 0
		enter := func() {
			if inside++; inside != 1 {
				t.Errorf("%d inside at once", inside)
			}
			runtime.Gosched()
			inside--
			turns++
		}
		for range 4 {
			g.Start("p", func(p clock.Process) {
				for range 50 {
					enter()
					p.SleepUntil(p.Now() + time.Microsecond)
				}
			})
		}
		for range 20 {
			c.Do(enter)
			c.At(c.Now(), enter)
		}
		until(t, c, func() bool { return turns == 4*50+2*20 })
	})
}

func TestStopEndsProcessesWhereTheyWait(t *testing.T) {
	onBoth(t, func(t *testing.T, c clock.Clock) {
		var s clock.Signal
		waits := []func(clock.Process){
			func(p clock.Process) { p.SleepUntil(clock.Never) },
			func(p clock.Process) { p.SleepUntil(p.Now() + time.Hour) },
			func(p clock.Process) { p.Wait(&s, clock.Never) },
			func(p clock.Process) { p.Wait(&s, p.Now()+time.Hour) },
			func(p clock.Process) { // never has to wait, but asks
				for {
					p.SleepUntil(p.Now() + time.Microsecond)
				}
			},
		}
		for i, wait := range waits {
			g := c.Group("g")
			started := false
			ended := make(chan struct{})
			g.Start("p", func(p clock.Process) {
				defer close(ended)
				started = true
				wait(p)
				t.Errorf("wait %d returned", i)
			})
			until(t, c, func() bool { return started })
			g.Stop()
			select {
			case <-ended:
			default:
				t.Errorf("wait %d: Stop returned before the process ended", i)
			}
			g.Stop() // once more is nothing
		}
	})
}

func TestGroupMayBeStartedAgain(t *testing.T) {
	onBoth(t, func(t *testing.T, c clock.Clock) {
		g := c.Group("controller")
		starts := 0
		body := func(p clock.Process) {
			starts++
			p.SleepUntil(clock.Never)
		}
		for want := 1; want <= 3; want++ {
			g.Start("cycle", body)
			until(t, c, func() bool { return starts == want })
			g.Stop()
		}
	})
}

// A restart from an event or a Do must not hang either.
func TestStopInsideAnEvent(t *testing.T) {
	onBoth(t, func(t *testing.T, c clock.Clock) {
		g := c.Group("controller")
		started, stopped := 0, false
		for range 3 {
			g.Start("cycle", func(p clock.Process) {
				started++
				for {
					p.SleepUntil(p.Now() + 100*time.Microsecond)
				}
			})
		}
		until(t, c, func() bool { return started == 3 })
		c.At(c.Now(), func() { g.Stop(); stopped = true })
		until(t, c, func() bool { return stopped })
	})
}

func TestRun(t *testing.T) {
	onBoth(t, func(t *testing.T, c clock.Clock) {
		at := c.Now() + soon
		if c.Run(at, nil) {
			t.Error("a run without a condition says that it held")
		}
		if c.Now() < at {
			t.Errorf("ran until %v, want %v", c.Now(), at)
		}
		if c.Run(c.Now()+soon, func() bool { return false }) {
			t.Error("a run says that its condition held")
		}
		if !c.Run(0, func() bool { return true }) {
			t.Error("a condition that holds at once is not seen")
		}
	})
}

// A bug in a process or an event ends the run, not the program.
func TestPanicAppearsInRun(t *testing.T) {
	for name, start := range map[string]func(clock.Clock){
		"process": func(c clock.Clock) {
			c.Group("g").Start("p", func(clock.Process) { panic("bug") })
		},
		"event": func(c clock.Clock) { c.At(0, func() { panic("bug") }) },
	} {
		t.Run(name, func(t *testing.T) {
			onBoth(t, func(t *testing.T, c clock.Clock) {
				defer func() {
					if recover() == nil {
						t.Error("the panic is lost")
					}
				}()
				start(c)
				c.Run(c.Now()+patience, func() bool { return false })
			})
		})
	}
}
