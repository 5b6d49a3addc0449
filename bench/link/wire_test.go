package link_test

import (
	"bytes"
	"os"
	"slices"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// The wire faults of the bench's plan: late answers to older requests, swapped
// and repeated transaction identifiers, wrong units, merged messages, slow
// bytes and half-open connections. Modbus identifiers stand in bytes 0 and 1,
// the unit in byte 6 (Modbus Messaging on TCP/IP Implementation Guide V1.0b, 3.1.3).

// transacted is a request with a transaction identifier and a register address.
func transacted(id, address byte) []byte {
	b := bytes.Clone(request)
	b[1], b[9] = id, address
	return b
}

// with is a message with one byte changed.
func with(message []byte, at int, value byte) []byte {
	b := bytes.Clone(message)
	b[at] = value
	return b
}

// Whoever takes each reply for that to the last request stays one behind, as
// long as the impairment stands; afterwards nothing of it is left.
func TestLateAnswers(t *testing.T) {
	onEachWay(t, func(t *testing.T, w world, network, direction string) {
		l := w.serve(network)
		c := w.dial(l)
		impair(w.impaired(l), direction, link.Impairment{LateProbability: 1})
		w.process(func(p clock.Process) {
			w.write(c, numbered(1))
			w.wantError(p, c, silence, os.ErrDeadlineExceeded)
			for n := byte(2); n < 6; n++ {
				w.write(c, numbered(n))
				w.wantReply(p, c, numbered(n-1))
			}
		})
		remove(w.impaired(l))
		w.process(func(p clock.Process) {
			for n := byte(6); n < 9; n++ {
				w.write(c, numbered(n))
				w.wantReply(p, c, numbered(n))
			}
		})
	})
}

// What is held back is lost with its impairment, whether another one follows it
// or it comes again.
func TestRemovedImpairmentLosesWhatItHeld(t *testing.T) {
	late := link.Impairment{LateProbability: 1}
	for name, next := range map[string]link.Impairment{
		"none": {}, "another": {Delay: time.Millisecond},
	} {
		onEachWay(t, func(t *testing.T, w world, network, direction string) {
			l := w.serve(network)
			c := w.dial(l)
			held := func(n byte) {
				impair(w.impaired(l), direction, late)
				w.process(func(p clock.Process) {
					w.write(c, numbered(n))
					w.wantError(p, c, silence, os.ErrDeadlineExceeded)
				})
			}
			held(1)
			impair(w.impaired(l), direction, next)
			w.process(func(p clock.Process) {
				w.write(c, numbered(2))
				w.wantReply(p, c, numbered(2))
			})
			if held(3); t.Failed() {
				t.Errorf("after %s something of the first time comes", name)
			}
		})
	}
}

// A late answer comes with the next one and before it; the others are as ever.
// 200 messages at 0.4: 80 late, standard deviation 6.9 (binomial).
func TestLateAnswerComesBeforeTheNext(t *testing.T) {
	all := traffic(t, 3, func(c *link.Conditions) { c.ToController.LateProbability = 0.4 })
	got := replies(all)
	if !slices.IsSorted(got) || len(slices.Compact(slices.Clone(got))) != len(got) {
		t.Error("messages come twice or in another order than they were sent in")
	}
	if n := len(got); n < 199 { // only the last may still be waiting
		t.Errorf("%d of 200 replies came", n)
	}
	late := 0
	for _, p := range all {
		sent := time.Duration(p.Bytes[1]) * time.Millisecond
		if p.Direction == link.ToController && p.At-sent > 500*time.Microsecond {
			late++
		}
	}
	if late < 52 || late > 108 {
		t.Errorf("%d of 200 replies are late, want 80 within 4 standard deviations", late)
	}
}

// replies lists which of the 200 replies came, in order.
func replies(all []link.Packet) (numbers []byte) {
	for _, p := range all {
		if p.Direction == link.ToController {
			numbers = append(numbers, p.Bytes[1])
		}
	}
	return numbers
}

func TestSwappedTransactions(t *testing.T) {
	onEachWay(t, func(t *testing.T, w world, network, direction string) {
		l := w.serve(network)
		c := w.dial(l)
		impair(w.impaired(l), direction, link.Impairment{SwapProbability: 1})
		w.process(func(p clock.Process) {
			w.write(c, transacted(1, 10))
			w.write(c, transacted(2, 20))
			w.wantReply(p, c, transacted(2, 10))
			w.wantReply(p, c, transacted(1, 20))
		})
		remove(w.impaired(l))
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantReply(p, c, request)
		})
	})
}

func TestRepeatedTransaction(t *testing.T) {
	onEachWay(t, func(t *testing.T, w world, network, direction string) {
		l := w.serve(network)
		c := w.dial(l)
		w.process(func(p clock.Process) {
			w.write(c, transacted(1, 10))
			w.wantReply(p, c, transacted(1, 10))
		})
		impair(w.impaired(l), direction, link.Impairment{SameTransactionProbability: 1})
		w.process(func(p clock.Process) {
			w.write(c, transacted(2, 20))
			w.wantReply(p, c, transacted(1, 20))
			w.write(c, transacted(3, 30))
			w.wantReply(p, c, transacted(2, 30))
		})
		remove(w.impaired(l))
		w.process(func(p clock.Process) {
			w.write(c, transacted(4, 40))
			w.wantReply(p, c, transacted(4, 40))
		})
	})
}

func TestWrongUnit(t *testing.T) {
	onEachWay(t, func(t *testing.T, w world, network, direction string) {
		l := w.serve(network)
		c := w.dial(l)
		impair(w.impaired(l), direction, link.Impairment{WrongUnitProbability: 1})
		sent := with(request, 6, 7)
		w.process(func(p clock.Process) {
			w.write(c, sent)
			w.wantReply(p, c, with(request, 6, 8))
		})
		remove(w.impaired(l))
		w.process(func(p clock.Process) {
			w.write(c, sent)
			w.wantReply(p, c, sent)
		})
	})
}

// What has no MBAP header has no identifiers to spoil. The second message is the
// beginning of an SNMP one (RFC 3417 section 8: BER, a SEQUENCE first).
func TestIdentifiersOfMessagesWithoutHeader(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("udp")
		c := w.dial(l)
		impair(w.impaired(l), "to controller", link.Impairment{
			SameTransactionProbability: 1, WrongUnitProbability: 1})
		w.process(func(p clock.Process) {
			for _, b := range [][]byte{{1, 2, 0, 0, 0, 1}, {0x30, 38, 2, 1, 1, 4, 6, 'p'}} {
				w.write(c, b)
				w.wantReply(p, c, b)
			}
		})
	})
}

// Two messages in one delivery; streams only, as datagrams keep apart.
func TestMergedMessages(t *testing.T) {
	for direction, way := range map[string]link.Direction{
		"to device": link.ToDevice, "to controller": link.ToController,
	} {
		onBothEnds(t, func(t *testing.T, w world) {
			l := w.serve("tcp")
			c := w.dial(l)
			impair(w.impaired(l), direction, link.Impairment{MergeProbability: 1})
			w.process(func(p clock.Process) {
				w.write(c, numbered(1))
				w.wantError(p, c, silence, os.ErrDeadlineExceeded)
				w.write(c, numbered(2))
				w.wantReply(p, c, numbered(1))
				w.wantReply(p, c, numbered(2))
			})
			both := append(numbered(1), numbered(2)...)
			// What the client merges is cut again, or not yet merged, where the tap looks.
			if !w.client && !slices.ContainsFunc(w.packets.seen(), func(k link.Packet) bool {
				return k.Direction == way && bytes.Equal(k.Bytes, both)
			}) {
				t.Errorf("%s: the two did not come in one piece", direction)
			}
			remove(w.impaired(l))
			w.process(func(p clock.Process) {
				w.write(c, request)
				w.wantReply(p, c, request)
			})
		})
	}
}

func TestMergingLeavesDatagramsApart(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("udp")
		c := w.dial(l)
		impair(w.impaired(l), "to controller", link.Impairment{MergeProbability: 1})
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantReply(p, c, request)
		})
	})
}

// One byte after the other; whoever waits long enough has the whole message.
func TestSlowBytes(t *testing.T) {
	const every = time.Millisecond
	onEachWay(t, func(t *testing.T, w world, network, direction string) {
		l := w.serve(network)
		c := w.dial(l)
		impair(w.impaired(l), direction, link.Impairment{ByteInterval: every})
		w.process(func(p clock.Process) {
			before := p.Now()
			w.write(c, request)
			w.wantReply(p, c, request)
			least := time.Duration(len(request)-1) * every
			took := p.Now() - before
			if took < least {
				t.Errorf("the reply took %v, want at least %v", took, least)
			}
			if _, exact := w.clock.(*clock.Virtual); exact && took != least+100*time.Microsecond {
				t.Errorf("the reply took %v, want %v and twice 50 us", took, least)
			}
			w.write(c, numbered(1)) // two at a time do not mix
			w.write(c, numbered(2))
			w.wantReply(p, c, numbered(1))
			w.wantReply(p, c, numbered(2))
		})
		remove(w.impaired(l))
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantReply(p, c, request)
		})
	})
}

// A long message still comes, in pieces of a few bytes.
func TestSlowBytesOfALongMessage(t *testing.T) {
	v := clock.NewVirtual()
	defer v.Close()
	n, seen := link.NewMemory(v), &packets{}
	n.Tap = seen.tap
	w := newWorld(t, v, n, seen)
	l, err := n.Serve(link.Service{
		Name: "device", Endpoint: link.Endpoint{Network: "tcp", Address: "127.0.0.1:0"},
		Framing: link.Line, Open: func() link.Session { return echo{} },
	})
	if err != nil {
		t.Fatal(err)
	}
	c, err := n.Dial(l.Endpoint(), link.Line)
	if err != nil {
		t.Fatal(err)
	}
	impair(w.impaired(l), "to device", link.Impairment{ByteInterval: time.Microsecond})
	line := append(bytes.Repeat([]byte("x"), 4000), '\n')
	w.process(func(p clock.Process) {
		w.write(c, line)
		w.wantReply(p, c, line)
	})
	if got := len(seen.seen()); got > 1025 {
		t.Errorf("the message came in %d pieces", got)
	}
}

// Connections that were open fall silent and hear nothing of it; new ones live.
func TestHalfOpen(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		asked := 0
		l := w.serveSession("tcp", func() link.Session { return counter{&asked} })
		old := w.dial(l)
		exchange := func(c link.Conn, n byte) {
			w.process(func(p clock.Process) {
				w.write(c, numbered(n))
				w.wantReply(p, c, numbered(n))
			})
		}
		exchange(old, 1)
		half := func(on bool) {
			w.impaired(l).Change(func(c *link.Conditions) { c.HalfOpen = on })
		}
		half(true)
		young := w.dial(l)
		w.process(func(p clock.Process) {
			w.write(old, numbered(2))
			w.wantError(p, old, silence, os.ErrDeadlineExceeded)
		})
		exchange(young, 3)
		half(false)
		exchange(old, 4)
		w.clock.Do(func() {
			if asked != 3 {
				t.Errorf("the device was asked %d times, want 3", asked)
			}
		})
		half(true) // the next time it is the young one's turn as well
		w.process(func(p clock.Process) {
			w.write(young, numbered(5))
			w.wantError(p, young, silence, os.ErrDeadlineExceeded)
		})
	})
}

func TestHalfOpenLeavesDatagramsAlone(t *testing.T) {
	onBothEnds(t, func(t *testing.T, w world) {
		l := w.serve("udp")
		c := w.dial(l)
		w.impaired(l).Change(func(c *link.Conditions) { c.HalfOpen = true })
		w.process(func(p clock.Process) {
			w.write(c, request)
			w.wantReply(p, c, request)
		})
	})
}
