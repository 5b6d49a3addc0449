package link_test

import (
	"slices"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/bench/seed"
)

// every is each impairment of a direction, by name, at a strength.
var every = map[string]func(m *link.Impairment, strength float64){
	"delay":     func(m *link.Impairment, s float64) { m.Delay = span(s) },
	"jitter":    func(m *link.Impairment, s float64) { m.Jitter = span(s) },
	"slow":      func(m *link.Impairment, s float64) { m.ByteInterval = span(s) },
	"silent":    func(m *link.Impairment, s float64) { m.Silent = s > 0 },
	"dropped":   func(m *link.Impairment, s float64) { m.DropProbability = s },
	"truncated": func(m *link.Impairment, s float64) { m.TruncateProbability = s },
	"corrupted": func(m *link.Impairment, s float64) { m.CorruptProbability = s },
	"repeated":  func(m *link.Impairment, s float64) { m.RepeatProbability = s },
	"late":      func(m *link.Impairment, s float64) { m.LateProbability = s },
	"swapped":   func(m *link.Impairment, s float64) { m.SwapProbability = s },
	"merged":    func(m *link.Impairment, s float64) { m.MergeProbability = s },
	"same":      func(m *link.Impairment, s float64) { m.SameTransactionProbability = s },
	"unit":      func(m *link.Impairment, s float64) { m.WrongUnitProbability = s },
}

func span(strength float64) time.Duration {
	return time.Duration(strength * float64(100*time.Microsecond))
}

// Each impairment in each direction: at strength zero, and after its removal,
// the traffic is to the bit what it is without; and at strength one it is not.
func TestEachImpairmentAtZeroEqualsAbsence(t *testing.T) {
	edit := func(direction string, set func(*link.Impairment, float64), s ...float64) []link.Packet {
		return streamed(t, func(c *link.Conditions) {
			for _, strength := range s {
				set(directions[direction](c), strength)
			}
		})
	}
	plain := streamed(t, nil)
	if len(plain) != 400 {
		t.Fatalf("%d packets, want 400", len(plain))
	}
	for name, set := range every {
		for direction := range directions {
			if !slices.EqualFunc(plain, edit(direction, set, 0), samePacket) {
				t.Errorf("%s %s at zero changes the traffic", name, direction)
			}
			if !slices.EqualFunc(plain, edit(direction, set, 1, 0), samePacket) {
				t.Errorf("%s %s leaves a trace", name, direction)
			}
			if slices.EqualFunc(plain, edit(direction, set, 1), samePacket) {
				t.Errorf("%s %s at one changes nothing", name, direction)
			}
		}
	}
}

// streamed is what the tap sees of 200 requests on a stream, a millisecond apart.
func streamed(t *testing.T, change func(*link.Conditions)) []link.Packet {
	t.Helper()
	v := clock.NewVirtual()
	defer v.Close()
	n, seen := link.NewMemory(v), &packets{}
	n.Tap, n.Seed = seen.tap, 4
	w := newWorld(t, v, n, seen)
	l := w.serve("tcp")
	if change != nil {
		l.Impairments().Change(change)
	}
	c := w.dial(l)
	w.process(func(p clock.Process) {
		for i := range 200 {
			// A stream that is cut for its framing is written to in vain.
			_ = c.Write(numbered(byte(i)))
			p.SleepUntil(time.Duration(i+1) * time.Millisecond)
		}
	})
	return seen.seen()
}

// Any mixture of impairments, switched on and off, ends in a sound connection or
// in a closed one, and never in a panic.
func FuzzImpairments(f *testing.F) {
	f.Add([]byte{255, 0, 128, 3, 200, 7, 90, 250, 16, 255, 255, 255, 255}, uint64(3))
	f.Fuzz(func(t *testing.T, strengths []byte, s uint64) {
		v := clock.NewVirtual()
		defer v.Close()
		n := link.NewMemory(v)
		n.Seed = seed.Seed(s)
		w := newWorld(t, v, n, &packets{})
		l := w.serve("tcp")
		c := w.dial(l)
		names := []string{"delay", "jitter", "slow", "dropped", "truncated", "corrupted",
			"repeated", "late", "swapped", "merged", "same", "unit"}
		w.process(func(p clock.Process) {
			for i, b := range strengths[:min(len(strengths), 64)] {
				l.Impairments().Change(func(c *link.Conditions) {
					way := directions[[]string{"to device", "to controller"}[i%2]](c)
					every[names[i/2%len(names)]](way, float64(b)/255)
				})
				if c.Write(numbered(byte(i))) != nil {
					return
				}
				_, _ = c.Read(p, p.Now()+time.Millisecond) // whatever comes
			}
			remove(w.impaired(l))
			again := w.dial(l)
			w.write(again, request)
			w.wantReply(p, again, request)
		})
	})
}
