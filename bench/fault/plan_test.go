package fault

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"haltmark/bench/plant"
)

const (
	step = 250 * time.Microsecond
	ms   = time.Millisecond
)

// at rest, all axes at 0.
func still() Motion {
	return Motion{Position: &[plant.AxisCount]float64{}, Rate: &[plant.AxisCount]float64{}}
}

// history runs a plan to the end and words each edge.
func history(p *Plan, until time.Duration, motion func(now time.Duration) Motion) []string {
	var words []string
	for now := time.Duration(0); now <= until; now += step {
		for _, e := range p.Active(now, motion(now)) {
			what := "ends"
			if e.Began {
				what = "begins"
			}
			words = append(words, fmt.Sprintf("%s %s at %v, due %v", e.Name(), what, e.At, e.Due))
		}
	}
	return words
}

func planned1(t *testing.T, entries ...Entry) *Plan {
	t.Helper()
	p, err := newPlan(entries...)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Faults act at exact plant steps, the first not before the time
// asked for, or the first at which the condition holds.
func TestPlan_ActsAtTheFirstStepNotBefore(t *testing.T) {
	frozen := make1(t, "encoder_frozen", "azimuth")
	trip := make1(t, "drive_trip", "azimuth.1")
	late := make1(t, "brake_late", "azimuth.1")
	beyond := Condition{Measure: Position, Axis: 1, Value: 0.5}
	slow := Condition{Measure: Rate, Axis: 1, Below: true, Value: 0.1}
	p := planned1(t,
		Entry{Fault: frozen, Start: Moment{At: 1100 * time.Microsecond}, End: Moment{At: 2 * ms}},
		Entry{Fault: trip, Start: Moment{At: 3 * ms, When: beyond}, Lasts: 1 * ms},
		Entry{Fault: late, End: Moment{At: 7 * ms, When: slow}},
	)
	got := history(p, 12*ms, func(now time.Duration) Motion {
		m := still()
		m.Position[1] = 0.1 * float64(now/ms) // past 0.5 at 6 ms
		m.Rate[1] = 1
		if now >= 9*ms {
			m.Rate[1] = 0
		}
		return m
	})
	want := []string{
		"brake_late begins at 0s, due 0s",
		"encoder_frozen begins at 1.25ms, due 1.1ms",
		"encoder_frozen ends at 2ms, due 2ms",
		"drive_trip begins at 6ms, due 6ms",
		"drive_trip ends at 7ms, due 7ms",
		"brake_late ends at 9ms, due 9ms",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}

func TestPlan_AddsAndRemovesWhileItRuns(t *testing.T) {
	p := planned1(t)
	p.Active(0, still())
	one, err := p.Add(Entry{Fault: make1(t, "encoder_frozen", "azimuth"), Start: Moment{At: ms}})
	if err != nil {
		t.Fatal(err)
	}
	never, err := p.Add(Entry{Fault: make1(t, "supply_lost", "station"), Start: Moment{At: 9 * ms}})
	if err != nil {
		t.Fatal(err)
	}
	if edges := p.Active(step, still()); len(edges) != 0 {
		t.Fatalf("too early: %v", edges)
	}
	edges := p.Active(5*ms, still()) // added late, seen late
	if len(edges) != 1 || !edges[0].Began || edges[0].ID != one || edges[0].Due != ms ||
		edges[0].At != 5*ms {
		t.Fatalf("got %+v", edges)
	}
	if s := p.Standing(nil, 5*ms); len(s) != 1 || s[0].Name() != "encoder_frozen" {
		t.Fatalf("standing: %v", s)
	}
	p.Remove(one)
	p.Remove(never)
	edges = p.Active(5*ms+step, still())
	if len(edges) != 1 || edges[0].Began || edges[0].ID != one || edges[0].At != 5*ms+step {
		t.Fatalf("got %+v", edges)
	}
	if s := p.Standing(nil, 5*ms); len(s) != 0 {
		t.Fatalf("standing: %v", s)
	}
	p.Remove(one)
	for now := 6 * ms; now < 20*ms; now += step {
		if edges := p.Active(now, still()); len(edges) != 0 {
			t.Fatalf("at %v: %+v", now, edges)
		}
	}
}

func TestPlan_OrderIsThatOfEntry(t *testing.T) {
	var entries []Entry
	var want []string
	for _, axis := range []string{"elevation", "azimuth", "polarization_v", "polarization_h"} {
		f := make1(t, "encoder_frozen", axis)
		entries = append(entries, Entry{Fault: f, Start: Moment{At: ms}})
		want = append(want, axis)
	}
	var got []string
	for _, e := range planned1(t, entries...).Active(ms, still()) {
		got = append(got, e.Target().Name)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}

func TestPlan_ZeroValueIsEmpty(t *testing.T) {
	var p Plan
	if edges := p.Active(0, still()); len(edges) != 0 {
		t.Fatal(edges)
	}
	if _, err := p.Add(Entry{Fault: make1(t, "supply_lost", "station")}); err != nil {
		t.Fatal(err)
	}
	if edges := p.Active(step, still()); len(edges) != 1 {
		t.Fatal(edges)
	}
}

func TestPlan_RefusesWhatCannotBe(t *testing.T) {
	f := make1(t, "encoder_frozen", "azimuth")
	rows := []struct {
		entry Entry
		want  string
	}{
		{Entry{}, "a fault of no kind"},
		{Entry{Fault: f, Lasts: -1}, "times before the world's start"},
		{Entry{Fault: f, Start: Moment{At: -1}}, "times before the world's start"},
		{Entry{Fault: f, Lasts: 1, End: Moment{At: 1}}, "has an end and a length; need one"},
		{Entry{Fault: f, Start: Moment{At: 2 * ms}, End: Moment{At: ms}},
			"ends at 1ms before it starts at 2ms"},
		{Entry{Fault: f, Start: Moment{When: Condition{Measure: Rate, Axis: 4}}}, "on nothing there is"},
		{Entry{Fault: f, End: Moment{When: Condition{Measure: 3}}}, "on nothing there is"},
	}
	for _, row := range rows {
		_, err := newPlan(row.entry)
		if err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("got %v, want %s", err, row.want)
		}
	}
}

// A step at which nothing can happen, and one with a condition that waits.
func BenchmarkActive(b *testing.B) {
	f, err := kinds().New("supply_lost", "station", nil)
	if err != nil {
		b.Fatal(err)
	}
	for name, start := range map[string]Moment{
		"timed":       {At: never - 1},
		"conditional": {When: Condition{Measure: Position, Value: 1}},
	} {
		b.Run(name, func(b *testing.B) {
			p, err := newPlan(Entry{Fault: f, Start: start})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			m, now := still(), time.Duration(0)
			for b.Loop() {
				now += step
				p.Active(now, m)
			}
		})
	}
}

// newPlan is a plan of these entries.
func newPlan(entries ...Entry) (*Plan, error) {
	p := &Plan{}
	for _, e := range entries {
		if _, err := p.Add(e); err != nil {
			return nil, err
		}
	}
	return p, nil
}
