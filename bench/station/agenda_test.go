package station

import (
	"slices"
	"testing"
	"time"
)

// What stands in the agenda happens at exact plant steps; equal
// times go in the order in which they were asked for.
func TestAgenda_Order(t *testing.T) {
	const ms = time.Millisecond
	var a agenda
	var got []string
	note := func(what string) func(time.Duration) {
		return func(time.Duration) { got = append(got, what) }
	}
	a.at(3*ms, note("third"))
	a.at(1*ms, note("first"))
	a.at(2*ms, func(now time.Duration) {
		got = append(got, "second")
		a.at(now, note("added for now"))
		a.at(now-ms, note("added for the past"))
		a.at(now+ms, note("added for later"))
	})
	a.at(2*ms, note("second, asked later"))
	for now := time.Duration(0); now <= 4*ms; now += ms / 4 {
		a.run(now)
	}
	want := []string{"first", "second", "added for the past", "second, asked later",
		"added for now", "third", "added for later"}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// A condition is looked at once a step, in order, after what is due by time, and
// acts once.
func TestAgenda_Conditions(t *testing.T) {
	var a agenda
	var got []string
	x := 0
	note := func(what string) func(time.Duration) {
		return func(time.Duration) { got = append(got, what) }
	}
	a.when(func() bool { return x >= 2 }, note("two"))
	a.when(func() bool { return x >= 1 }, func(time.Duration) {
		got = append(got, "one")
		a.when(func() bool { return true }, note("added"))
	})
	a.at(0, note("timed"))
	a.run(0)
	for x = 1; x < 4; x++ {
		a.run(time.Duration(x))
	}
	if want := []string{"timed", "one", "added", "two"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if a.run(9); len(a.waiting) > 0 || len(a.timed) > 0 {
		t.Error("something is left")
	}
}
