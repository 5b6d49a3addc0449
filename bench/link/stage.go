package link

import (
	"iter"
	"net/netip"
	"sync"
	"time"

	"haltmark/bench/seed"
)

// end is one party's end of the wire: a service's or a client's.
type end struct {
	impairments *Impairments
	stages      [2]stage
}

// impairedBy sets the end up; its draws are its name's.
func (e *end) impairedBy(i *Impairments, s seed.Seed, name ...string) {
	e.impairments = i
	for _, d := range []Direction{ToDevice, ToController} {
		parts := append(append([]string{"link"}, name...), d.String())
		e.stages[d].direction, e.stages[d].impairments = d, i
		e.stages[d].seed = s.Derive(parts...)
	}
}

// Impairments implements Listener and Dialer.
func (e *end) Impairments() *Impairments { return e.impairments }

// refuses reports whether new connections are turned away.
func (e *end) refuses() bool { return e.impairments.Conditions().Refuse }

// unplugged reports whether the end's cable is out.
func (e *end) unplugged() bool { return e.impairments.Conditions().Pulled }

// stage is the impairment stage of one direction at one end. Every kind of
// impairment draws from a stream of its own, and only while it stands, so that
// switching one on shifts no other.
type stage struct {
	direction   Direction
	impairments *Impairments
	seed        seed.Seed

	mu      sync.Mutex // guards the streams
	streams [drawCount]*seed.Stream
}

// draw is a kind of chance.
type draw int

const (
	drawJitter draw = iota
	drawDrop
	drawRepeat
	drawTruncate
	drawCorrupt
	drawBit
	drawTransaction
	drawUnit
	drawLate // and what else waits, in the order of reasons
	drawSwap
	drawMerge
	drawCount
)

// String names the stream.
func (d draw) String() string {
	return [...]string{"jitter", "drop", "repeat", "truncate", "corrupt", "flip",
		"transaction", "unit", "late", "swap", "merge"}[d]
}

// stream is that of a kind of chance; s.mu is held.
func (s *stage) stream(d draw) *seed.Stream {
	if s.streams[d] == nil {
		s.streams[d] = s.seed.Stream(d.String())
	}
	return s.streams[d]
}

// happens draws only when there is something to decide; s.mu is held.
func (s *stage) happens(d draw, probability float64) bool {
	return probability > 0 && s.stream(d).Float64() < probability
}

// delivery is a message, or several in one, that arrives after delay; on a
// stream pace more passes between any two of its bytes.
type delivery struct {
	message
	delay, pace time.Duration
}

// passes reports that a message goes on at once and as it is, which is what no
// impairment comes to.
func (s *stage) passes(h *history, b []byte) bool {
	if s.impairments.any.Load() {
		m, cut, ok := s.impairments.current(s.direction, h.openedAfter)
		if ok && (cut || m != Impairment{}) {
			return false
		}
	}
	h.drop()
	h.note(b)
	return true
}

// impair makes of a message, of 1 byte or more, what arrives of it.
func (s *stage) impair(h *history, b []byte, to netip.AddrPort) []delivery {
	m, cut, _ := s.impairments.current(s.direction, h.openedAfter)
	if cut || m.Silent {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.happens(drawDrop, m.DropProbability) {
		return nil
	}
	altered := s.alter(&m, h, b)
	copies := 1
	if s.happens(drawRepeat, m.RepeatProbability) {
		copies = 2
	}
	var out []delivery
	for _, each := range s.order(&m, h, message{altered, to}) {
		for range copies {
			out = append(out, s.schedule(&m, h, each))
		}
	}
	return out
}

// alter is the message as far as it is changed in itself.
func (s *stage) alter(m *Impairment, h *history, original []byte) []byte {
	b := append([]byte(nil), original...)
	before, known := h.transaction, h.known
	h.note(original)
	if s.happens(drawTransaction, m.SameTransactionProbability) && known && hasHeader(b) {
		copy(b, before[:])
	}
	if s.happens(drawUnit, m.WrongUnitProbability) && hasHeader(b) {
		b[mbapUnit]++
	}
	if s.happens(drawTruncate, m.TruncateProbability) && len(b) > 1 {
		b = b[:1+s.stream(drawTruncate).IntN(len(b)-1)]
	}
	if s.happens(drawCorrupt, m.CorruptProbability) {
		bit := s.stream(drawBit).IntN(8 * len(b))
		b[bit/8] ^= 1 << (bit % 8)
	}
	return b
}

// schedule says when a message arrives. Datagrams come whole, with their last byte.
func (s *stage) schedule(m *Impairment, h *history, what message) delivery {
	d := delivery{message: what, delay: m.Delay, pace: m.ByteInterval}
	if m.Jitter > 0 {
		d.delay += time.Duration(s.stream(drawJitter).Float64() * float64(m.Jitter))
	}
	if h.datagrams {
		d.delay += time.Duration(len(what.bytes)-1) * d.pace
		d.pace = 0
	}
	return d
}

// piece is a part of a delivery; more come after it.
type piece struct {
	delay time.Duration
	bytes []byte
	more  bool
}

// piecesMax bounds how many pieces a delivery comes in.
const piecesMax = 1024

// pieces cuts a delivery into what arrives at a time: all of it, or single bytes
// where it is slow; of a very long message a few together.
func (d delivery) pieces() iter.Seq[piece] {
	return func(yield func(piece) bool) {
		each := len(d.bytes)
		if d.pace > 0 {
			each = (len(d.bytes) + piecesMax - 1) / piecesMax
		}
		for at := 0; at < len(d.bytes); at += each {
			end := min(at+each, len(d.bytes))
			if !yield(piece{time.Duration(at) * d.pace, d.bytes[at:end], end < len(d.bytes)}) {
				return
			}
		}
	}
}
