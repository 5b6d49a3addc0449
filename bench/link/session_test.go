package link_test

import (
	"io"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// beacon says its number each millisecond, without being asked.
type beacon struct {
	echo
	next byte
}

func (b *beacon) Emit(now time.Duration) ([]byte, time.Duration) {
	message := numbered(b.next)
	b.next++
	return message, now + time.Millisecond
}

func TestEmitterTalksUnasked(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		c := w.dial(w.serveSession("tcp", func() link.Session { return &beacon{} }))
		w.process(func(p clock.Process) {
			for n := range byte(5) {
				w.wantReply(p, c, numbered(n))
			}
		})
	})
}

// Length larger than the bytes sent: wait to a time-out, then close.
func TestIncompleteRequestEndsTheConnection(t *testing.T) {
	onBoth(t, func(t *testing.T, w world) {
		switch n := w.net.(type) {
		case *link.Memory:
			n.MessageTimeout = silence
		case *link.Host:
			n.MessageTimeout = silence
		}
		c := w.dial(w.serve("tcp"))
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantReply(p, c, request)
			before := p.Now()
			w.write(c, request[:7])
			w.wantError(p, c, patience, io.EOF)
			if took := p.Now() - before; took < silence {
				t.Errorf("closed after %v, want at least %v", took, silence)
			}
		})
	})
}

// The station is advanced to the arrival of each request, then impaired, then
// asked: a fault that begins in Advance counts for the request that caused it.
func TestAdvanceComesFirst(t *testing.T) {
	v := clock.NewVirtual()
	defer v.Close()
	n := link.NewMemory(v)
	var l link.Listener
	var advanced []time.Duration
	asked := 0
	l, err := n.Serve(link.Service{
		Name: "device", Endpoint: link.Endpoint{Network: "udp", Address: "127.0.0.1:0"},
		Framing: link.SNMPDatagram, Open: func() link.Session { return counter{&asked} },
		Advance: func(now time.Duration) {
			advanced = append(advanced, now)
			if now >= 5*time.Millisecond {
				l.Impairments().Change(func(c *link.Conditions) { c.ToDevice.Silent = true })
			}
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	c, err := n.Dial(l.Endpoint(), link.SNMPDatagram)
	if err != nil {
		t.Fatal(err)
	}
	v.Group("controller").Start("poll", func(p clock.Process) {
		for k := range time.Duration(10) {
			p.SleepUntil(k * time.Millisecond)
			if err := c.Write(request); err != nil {
				t.Error(err)
			}
		}
	})
	v.Run(time.Second, nil)
	if asked != 5 {
		t.Errorf("the device was asked %d times, want 5", asked)
	}
	for k, at := range advanced {
		if want := time.Duration(k)*time.Millisecond + 50*time.Microsecond; at != want {
			t.Errorf("advance %d to %v, want %v", k, at, want)
		}
	}
}

func TestExchangeTimes(t *testing.T) {
	w := clock.NewWall()
	defer w.Close()
	n := link.NewHost(w)
	var seen []link.Exchange
	n.Trace = func(e link.Exchange) { seen = append(seen, e) }
	v := newWorld(t, w, n, &packets{})
	l := v.serve("tcp")
	l.Impairments().Change(func(c *link.Conditions) { c.ToController.Delay = time.Second / 8 })
	c := v.dial(l)
	v.process(func(p clock.Process) {
		v.write(c, request)
		v.wantReply(p, c, request)
	})
	if err := l.Close(); err != nil { // also orders what Trace wrote before this
		t.Fatal(err)
	}
	if len(seen) != 1 {
		t.Fatalf("%d exchanges traced, want 1", len(seen))
	}
	e := seen[0]
	if e.Departure-e.Arrival != time.Second/8+e.Lateness {
		t.Errorf("%+v: departure is not arrival, delay and lateness", e)
	}
	if got := n.Lateness().Between(e.Departure, e.Departure); got != e.Lateness {
		t.Errorf("lateness then %v, want %v", got, e.Lateness)
	}
}
