package link_test

import (
	"bytes"
	"errors"
	"math/bits"
	"os"
	"slices"
	"syscall"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/bench/seed"
)

// directions names the impairment of one direction in Conditions.
var directions = map[string]func(*link.Conditions) *link.Impairment{
	"to device":     func(c *link.Conditions) *link.Impairment { return &c.ToDevice },
	"to controller": func(c *link.Conditions) *link.Impairment { return &c.ToController },
}

// impair lets an impairment stand in one direction; remove takes all away.
func impair(i *link.Impairments, direction string, m link.Impairment) {
	i.Change(func(c *link.Conditions) { *directions[direction](c) = m })
}

func remove(i *link.Impairments) {
	i.Change(func(c *link.Conditions) { *c = link.Conditions{} })
}

// onEachWay runs a test for both directions, both transports and both ends.
func onEachWay(t *testing.T, test func(t *testing.T, w world, network, direction string)) {
	for _, network := range []string{"tcp", "udp"} {
		for direction := range directions {
			t.Run(network+" "+direction, func(t *testing.T) {
				onBothEnds(t, func(t *testing.T, w world) { test(t, w, network, direction) })
			})
		}
	}
}

func TestLostMessages(t *testing.T) {
	for name, m := range map[string]link.Impairment{
		"silent": {Silent: true}, "dropped": {DropProbability: 1},
	} {
		t.Run(name, func(t *testing.T) {
			onEachWay(t, func(t *testing.T, w world, network, direction string) {
				asked := 0
				l := w.serveSession(network, func() link.Session { return counter{&asked} })
				c := w.dial(l)
				impair(w.impaired(l), direction, m)
				w.process(func(p clock.Process) {
					w.write(c, request)
					w.wantError(p, c, silence, os.ErrDeadlineExceeded)
				})
				remove(w.impaired(l))
				w.process(func(p clock.Process) {
					w.write(c, numbered(2))
					w.wantReply(p, c, numbered(2))
				})
				want := map[string]int{"to device": 1, "to controller": 2}[direction]
				w.clock.Do(func() {
					if asked != want {
						t.Errorf("the device was asked %d times, want %d", asked, want)
					}
				})
			})
		})
	}
}

// counter is a echo that counts.
type counter struct{ asked *int }

func (c counter) Respond(dst, request []byte) []byte {
	*c.asked++
	return append(dst, request...)
}

func TestDelay(t *testing.T) {
	onEachWay(t, func(t *testing.T, w world, network, direction string) {
		l := w.serve(network)
		c := w.dial(l)
		impair(w.impaired(l), direction, link.Impairment{Delay: silence})
		w.process(func(p clock.Process) {
			before := p.Now()
			w.write(c, request)
			w.wantReply(p, c, request)
			took := p.Now() - before
			if took < silence {
				t.Errorf("the reply took %v, want at least %v", took, silence)
			}
			asked := w.packets.seen()[0].At - before
			if direction == "to device" && asked < silence {
				t.Errorf("the device was asked after %v, want at least %v", asked, silence)
			}
			if _, exact := w.clock.(*clock.Virtual); exact && took != silence+100*time.Microsecond {
				t.Errorf("the reply took %v, want %v and twice 50 us", took, silence)
			}
		})
	})
}

// On a stream jitter delays but never reorders.
func TestJitterKeepsOrder(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		c := w.dial(l)
		w.impaired(l).Change(func(c *link.Conditions) {
			c.ToDevice.Jitter = 2 * time.Millisecond
			c.ToController.Jitter = 2 * time.Millisecond
		})
		w.process(func(p clock.Process) {
			for n := range byte(30) {
				w.write(c, numbered(n))
			}
			for n := range byte(30) {
				w.wantReply(p, c, numbered(n))
			}
		})
	})
}

func TestRefuse(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		c := w.dial(l)
		exchange := func(c link.Conn) {
			w.process(func(p clock.Process) {
				w.write(c, request)
				w.wantReply(p, c, request)
			})
		}
		exchange(c)
		w.impaired(l).Change(func(c *link.Conditions) { c.Refuse = true })
		if _, err := w.dialer.Dial(l.Endpoint(), link.ModbusTCP); !errors.Is(err, syscall.ECONNREFUSED) {
			t.Errorf("dial: %v, want connection refused", err)
		}
		exchange(c)
		remove(w.impaired(l))
		exchange(w.dial(l))
	})
}

func TestRefusedDatagrams(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("udp")
		c := w.dial(l)
		w.impaired(l).Change(func(c *link.Conditions) { c.Refuse = true })
		w.process(func(p clock.Process) {
			w.write(c, numbered(1))
			w.wantError(p, c, patience, syscall.ECONNREFUSED)
		})
		remove(w.impaired(l))
		w.process(func(p clock.Process) {
			w.write(c, numbered(2))
			w.wantReply(p, c, numbered(2))
		})
	})
}

func TestReset(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		c := w.dial(l)
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantReply(p, c, request)
		})
		w.impaired(l).Reset()
		again := w.dial(l)
		w.process(func(p clock.Process) {
			w.wantError(p, c, patience, syscall.ECONNRESET)
			w.write(again, request)
			w.wantReply(p, again, request)
		})
		if err := c.Write(request); err == nil {
			t.Error("writing to a broken connection succeeds")
		}
	})
}

func TestPulledCable(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		old := w.dial(l)
		w.impaired(l).Change(func(c *link.Conditions) { c.Pulled = true })
		young := w.dial(l)
		w.process(func(p clock.Process) {
			for _, c := range []link.Conn{old, young} {
				w.write(c, numbered(1))
				w.wantError(p, c, silence, os.ErrDeadlineExceeded)
			}
		})
		remove(w.impaired(l))
		w.process(func(p clock.Process) {
			for _, c := range []link.Conn{old, young} {
				w.write(c, numbered(2))
				w.wantReply(p, c, numbered(2))
			}
		})
	})
}

func TestRepeatedMessage(t *testing.T) {
	onEachWay(t, func(t *testing.T, w world, network, direction string) {
		l := w.serve(network)
		c := w.dial(l)
		impair(w.impaired(l), direction, link.Impairment{RepeatProbability: 1})
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantReply(p, c, request)
			w.wantReply(p, c, request)
			w.wantError(p, c, silence, os.ErrDeadlineExceeded)
		})
	})
}

func TestCorruptedMessageHasOneWrongBit(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("udp")
		c := w.dial(l)
		impair(w.impaired(l), "to controller", link.Impairment{CorruptProbability: 1})
		w.process(func(p clock.Process) {
			for range 10 {
				w.write(c, request)
				got, err := c.Read(p, p.Now()+patience)
				if err != nil || len(got) != len(request) {
					t.Errorf("read % x, %v", got, err)
					return
				}
				wrong := 0
				for i := range got {
					wrong += bits.OnesCount8(got[i] ^ request[i])
				}
				if wrong != 1 {
					t.Errorf("% x has %d wrong bits, want 1", got, wrong)
				}
			}
		})
	})
}

func TestTruncatedMessageLosesItsEnd(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("udp")
		c := w.dial(l)
		impair(w.impaired(l), "to controller", link.Impairment{TruncateProbability: 1})
		w.process(func(p clock.Process) {
			for range 10 {
				w.write(c, request)
				got, err := c.Read(p, p.Now()+patience)
				whole := len(got) == len(request)
				if err != nil || len(got) == 0 || whole || !bytes.HasPrefix(request, got) {
					t.Errorf("read % x, %v; want a beginning of % x", got, err, request)
				}
			}
		})
	})
}

// A reply cut short on a stream never becomes a message.
func TestTruncatedReplyOnAStreamTimesOut(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("tcp")
		c := w.dial(l)
		impair(w.impaired(l), "to controller", link.Impairment{TruncateProbability: 1})
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantError(p, c, silence, os.ErrDeadlineExceeded)
		})
	})
}

// traffic is what the tap sees of 200 exchanges a millisecond apart.
func traffic(t *testing.T, s seed.Seed, edit func(*link.Conditions)) []link.Packet {
	t.Helper()
	v := clock.NewVirtual()
	defer v.Close()
	n, seen := link.NewMemory(v), &packets{}
	n.Tap, n.Seed = seen.tap, s
	w := newWorld(t, v, n, seen)
	l := w.serve("udp")
	if edit != nil {
		w.impaired(l).Change(edit)
	}
	c := w.dial(l)
	w.process(func(p clock.Process) {
		for i := range 200 {
			w.write(c, numbered(byte(i)))
			p.SleepUntil(time.Duration(i+1) * time.Millisecond)
		}
	})
	return seen.seen()
}

// arrivals lists which of the 200 requests came through, and how often.
func arrivals(all []link.Packet) (numbers []byte) {
	for _, p := range all {
		if p.Direction == link.ToDevice {
			numbers = append(numbers, p.Bytes[1])
		}
	}
	return numbers
}

func samePacket(a, b link.Packet) bool {
	same := bytes.Equal(a.Bytes, b.Bytes)
	a.Bytes, b.Bytes = nil, nil
	return same && a.At == b.At && a.Direction == b.Direction &&
		a.Service == b.Service && a.Connection == b.Connection
}

func TestProbabilityZeroEqualsAbsence(t *testing.T) {
	plain := traffic(t, 1, nil)
	zero := traffic(t, 2, func(c *link.Conditions) {
		c.ToDevice.DropProbability, c.ToController.Jitter = 1, time.Second
		c.ToDevice.DropProbability, c.ToController.Jitter = 0, 0
	})
	// Delay in the other direction sends this one through its stage too.
	slow := traffic(t, 3, func(c *link.Conditions) { c.ToController.Delay = time.Nanosecond })
	if len(plain) != 400 || !slices.EqualFunc(plain, zero, samePacket) {
		t.Error("impairments of probability zero change the traffic")
	}
	sent := func(p link.Packet) bool { return p.Direction == link.ToController }
	if !slices.EqualFunc(slices.DeleteFunc(plain, sent), slices.DeleteFunc(slow, sent), samePacket) {
		t.Error("an impairment of one direction changes the other")
	}
}

func TestSeedDecides(t *testing.T) {
	drop := func(c *link.Conditions) { c.ToDevice.DropProbability = 0.3 }
	a, again, b := traffic(t, 1, drop), traffic(t, 1, drop), traffic(t, 2, drop)
	if !slices.EqualFunc(a, again, samePacket) {
		t.Error("one seed gives two kinds of traffic")
	}
	if slices.EqualFunc(a, b, samePacket) {
		t.Error("two seeds give the same traffic")
	}
	// 200 messages at 0.3: 60 lost, standard deviation 6.5 (binomial).
	if lost := 200 - len(arrivals(a)); lost < 34 || lost > 86 {
		t.Errorf("%d of 200 messages lost, want 60 within 4 standard deviations", lost)
	}
}

// Switching one impairment on does not shift the draws of another.
func TestImpairmentsDrawApart(t *testing.T) {
	drop := func(c *link.Conditions) { c.ToDevice.DropProbability = 0.3 }
	all := func(c *link.Conditions) {
		drop(c)
		c.ToDevice.Jitter = 100 * time.Microsecond
		c.ToDevice.RepeatProbability = 0.5
		c.ToDevice.CorruptProbability = 1e-12
	}
	want := arrivals(traffic(t, 5, drop))
	got := arrivals(traffic(t, 5, all))
	if len(got) == len(want) {
		t.Fatal("nothing was repeated")
	}
	if !bytes.Equal(slices.Compact(got), want) {
		t.Error("repeating and jitter change which messages are lost")
	}
}
