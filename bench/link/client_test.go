package link_test

import (
	"errors"
	"os"
	"syscall"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// An impairment that begins by the client's Advance counts for the message that made
// it begin, out and in; the two ends draw apart.
func TestClient_AdvanceComesFirst(t *testing.T) {
	for direction, asks := range map[string]int{"to device": 0, "to controller": 1} {
		onBoth(t, func(t *testing.T, w world) {
			begun := false
			asked := 0
			l := w.serveSession("udp", func() link.Session { return counter{&asked} })
			var d link.Dialer
			d = w.net.Dialer(link.Client{Name: "management", Advance: func(time.Duration) {
				if begun {
					impair(d.Impairments(), direction, link.Impairment{Silent: true})
				}
			}})
			c, err := d.Dial(l.Endpoint(), link.SNMPDatagram)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { _ = c.Close() })
			w.exchange(c, 1)
			w.clock.Do(func() { begun, asked = true, 0 })
			w.process(func(p clock.Process) {
				w.write(c, numbered(2))
				w.wantError(p, c, silence, os.ErrDeadlineExceeded)
			})
			w.clock.Do(func() {
				if asked != asks {
					t.Errorf("%s: the device was asked %d times, want %d", direction, asked, asks)
				}
			})
		})
	}
}

// A client's impairments are those of all its connections and of nobody else's.
func TestClient_ImpairmentsAreItsOwn(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		a, b := w.dial(l), w.dial(l)
		other, err := w.net.Dial(l.Endpoint(), link.ModbusTCP)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = other.Close() })
		if a.Impairments() != w.dialer.Impairments() || other.Impairments() == a.Impairments() {
			t.Error("a connection has another client's impairments")
		}
		a.Impairments().Change(func(c *link.Conditions) { c.Pulled = true })
		w.exchange(other, 1)
		w.process(func(p clock.Process) {
			for _, c := range []link.Conn{a, b} {
				w.write(c, request)
				w.wantError(p, c, silence, os.ErrDeadlineExceeded)
			}
		})
		other.Impairments().Reset()
		remove(a.Impairments())
		w.exchange(a, 2)
		w.process(func(p clock.Process) { w.wantError(p, other, patience, syscall.ECONNRESET) })
	})
}

// A device that hangs up is not heard while the client's cable is out.
func TestClient_PulledCableHearsNoEnd(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		c := w.dial(l)
		w.exchange(c, 1)
		c.Impairments().Change(func(c *link.Conditions) { c.Pulled = true })
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		w.process(func(p clock.Process) { w.wantError(p, c, silence, os.ErrDeadlineExceeded) })
	})
}

// What a device says before it hangs up still comes, however slow the client's way in.
func TestClient_DelayKeepsTheEndLast(t *testing.T) {
	v := clock.NewVirtual()
	defer v.Close()
	n, seen := link.NewMemory(v), &packets{}
	w := newWorld(t, v, n, seen)
	l := w.serve("tcp")
	c := w.dial(l)
	impair(w.dialer.Impairments(), "to controller", link.Impairment{Delay: time.Second})
	w.process(func(p clock.Process) {
		w.write(c, request)
		p.SleepUntil(p.Now() + time.Millisecond)
	})
	_ = l.Close()
	w.process(func(p clock.Process) {
		w.wantReply(p, c, request)
		if _, err := c.Read(p, p.Now()+patience); err == nil || errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("then %v, want the end", err)
		}
	})
}

// Both ends impaired at once: the delays of the ways add up to the nanosecond.
func TestClient_DelaysOfBothEndsAddUp(t *testing.T) {
	for _, network := range []string{"tcp", "udp"} {
		v := clock.NewVirtual()
		n := link.NewMemory(v)
		w := newWorld(t, v, n, &packets{})
		l := w.serve(network)
		c := w.dial(l)
		for i, each := range []*link.Impairments{l.Impairments(), c.Impairments()} {
			span := time.Duration(i+1) * time.Millisecond
			impair(each, "to device", link.Impairment{Delay: span})
			impair(each, "to controller", link.Impairment{Delay: 10 * span})
		}
		w.process(func(p clock.Process) {
			before := p.Now()
			w.write(c, request)
			w.wantReply(p, c, request)
			if took := p.Now() - before; took != 33*time.Millisecond+2*n.Latency {
				t.Errorf("%s: the reply took %v, want 33 ms and twice 50 us", network, took)
			}
		})
		v.Close()
	}
}
