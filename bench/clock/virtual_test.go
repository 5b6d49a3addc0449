package clock_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/seed"
)

// At one instant events come before processes, events by the order of asking,
// processes by the order of starting, whoever asked first.
func TestVirtualOrder(t *testing.T) {
	v := clock.NewVirtual()
	defer v.Close()
	var got []string
	note := func(s string) { got = append(got, fmt.Sprint(s, " ", v.Now())) }
	for _, name := range []string{"first", "second"} {
		v.Group(name).Start(name, func(p clock.Process) {
			note(name)
			p.SleepUntil(2)
			note(name)
			p.SleepUntil(map[string]time.Duration{"first": 4, "second": 3}[name])
			v.At(4, func() { note("event of " + name) })
			p.SleepUntil(4)
			note(name)
		})
	}
	v.At(2, func() { note("event a") })
	v.At(2, func() { note("event b") })
	v.Run(10, nil)
	want := []string{
		"first 0s", "second 0s",
		"event a 2ns", "event b 2ns", "first 2ns", "second 2ns",
		"event of second 4ns", "first 4ns", "event of first 4ns", "second 4ns",
	}
	if !slices.Equal(got, want) {
		t.Errorf("order\n%q, want\n%q", got, want)
	}
	if v.Now() != 10 {
		t.Errorf("ran until %v, want 10ns", v.Now())
	}
}

// A signal and a deadline at one instant: the event that raises it is first.
func TestVirtualSignalBeatsDeadline(t *testing.T) {
	v := clock.NewVirtual()
	defer v.Close()
	var s clock.Signal
	var woken bool
	v.Group("g").Start("p", func(p clock.Process) { woken = p.Wait(&s, 5) })
	v.At(5, s.Raise)
	v.Run(10, nil)
	if !woken {
		t.Error("the deadline won")
	}
}

func TestVirtualTimeCostsNothing(t *testing.T) {
	v := clock.NewVirtual()
	defer v.Close()
	const century = 100 * 365 * 24 * time.Hour
	late := time.Duration(-1)
	v.Group("g").Start("p", func(p clock.Process) {
		p.SleepUntil(century)
		late = p.Now() - century
	})
	v.Run(math.MaxInt64-1, nil)
	if late != 0 {
		t.Errorf("woke %v late", late)
	}
}

func TestVirtualRunStopsWhereItsConditionHolds(t *testing.T) {
	v := clock.NewVirtual()
	defer v.Close()
	n := 0
	for at := time.Duration(1); at <= 10; at++ {
		v.At(at, func() { n++ })
	}
	if !v.Run(10, func() bool { return n == 4 }) || v.Now() != 4 || n != 4 {
		t.Errorf("stopped at %v after %d events, want 4 and 4", v.Now(), n)
	}
}

// The agenda against sorting: any order of asking gives the order of time,
// and of asking within one instant.
func TestVirtualAgainstSorting(t *testing.T) {
	random := seed.Seed(1).Stream("agenda")
	type event struct{ at, n int }
	for range 200 {
		v := clock.NewVirtual()
		var want, got []event
		for n := range random.IntN(200) {
			e := event{random.IntN(20), n}
			want = append(want, e)
			v.At(time.Duration(e.at), func() { got = append(got, e) })
		}
		slices.SortStableFunc(want, func(a, b event) int { return a.at - b.at })
		v.Run(30, nil)
		if !slices.Equal(got, want) {
			t.Fatalf("order %v, want %v", got, want)
		}
	}
}

func TestVirtualMisuse(t *testing.T) {
	for name, misuse := range map[string]func(*clock.Virtual, clock.Group){
		"run inside a process": func(v *clock.Virtual, _ clock.Group) { v.Run(1, nil) },
		"stop of itself":       func(_ *clock.Virtual, g clock.Group) { g.Stop() },
	} {
		t.Run(name, func(t *testing.T) {
			v := clock.NewVirtual()
			g := v.Group("g")
			g.Start("p", func(clock.Process) { misuse(v, g) })
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			v.Run(10, nil)
		})
	}
}

func TestVirtualAllocatesNothing(t *testing.T) {
	v := clock.NewVirtual()
	defer v.Close()
	var s clock.Signal
	g := v.Group("g")
	g.Start("sleeper", func(p clock.Process) {
		for {
			p.SleepUntil(p.Now() + 10)
		}
	})
	g.Start("waiter", func(p clock.Process) {
		for {
			p.Wait(&s, p.Now()+7)
		}
	})
	raise := s.Raise
	at := time.Duration(0)
	step := func() {
		v.At(at+5, raise)
		at += 10
		v.Run(at, nil)
	}
	step()
	if n := testing.AllocsPerRun(1000, step); n != 0 {
		t.Errorf("a cycle allocates %v times, want 0", n)
	}
}

func BenchmarkVirtualSleep(b *testing.B) {
	v := clock.NewVirtual()
	defer v.Close()
	v.Group("g").Start("p", func(p clock.Process) {
		for {
			p.SleepUntil(p.Now() + 1)
		}
	})
	b.ReportAllocs()
	for b.Loop() {
		v.Run(v.Now()+1, nil)
	}
}

func BenchmarkVirtualEvent(b *testing.B) {
	v := clock.NewVirtual()
	nothing := func() {}
	b.ReportAllocs()
	for b.Loop() {
		v.At(v.Now()+1, nothing)
		v.Run(v.Now()+1, nil)
	}
}
