package link

import (
	"iter"
	"math"
	"net/netip"
	"sync"
	"time"

	"haltmark/bench/seed"
)

// stage is the impairment stage of one direction of a service. Every kind of
// impairment draws from a stream of its own, and only while it stands, so that
// switching one on shifts no other.
type stage struct {
	direction   Direction
	impairments *Impairments
	datagrams   bool

	mu                                      sync.Mutex // guards the streams
	jitter, drop, truncate, corrupt, repeat *seed.Stream
	flip, transaction, unit                 *seed.Stream
	holds                                   [holdCount]*seed.Stream
}

func newStage(s seed.Seed, of Service, d Direction, i *Impairments) *stage {
	s = s.Derive("link", of.Name, d.String())
	return &stage{
		direction: d, impairments: i, datagrams: of.Endpoint.Network == "udp",
		jitter: s.Stream("jitter"), drop: s.Stream("drop"), repeat: s.Stream("repeat"),
		truncate: s.Stream("truncate"), corrupt: s.Stream("corrupt"), flip: s.Stream("flip"),
		transaction: s.Stream("transaction"), unit: s.Stream("unit"),
		holds: [holdCount]*seed.Stream{
			holdLate: s.Stream("late"), holdSwap: s.Stream("swap"), holdMerge: s.Stream("merge"),
		},
	}
}

// delivery is a message, or several in one, that arrives after delay; on a
// stream pace more passes between any two of its bytes.
type delivery struct {
	delay, pace time.Duration
	to          netip.AddrPort // of the peer, where the network wants it
	bytes       []byte
}

// passes reports that a message goes on at once and as it is, which is what no
// impairment comes to.
func (s *stage) passes(p *past, message []byte) bool {
	if s.impairments.spoilt.Load() {
		m, cut, ok := s.impairments.standing(s.direction, s.born(p))
		if ok && (cut || m != Impairment{}) {
			return false
		}
	}
	p.forget()
	p.note(message)
	return true
}

// born is how many half-openings were before a connection; datagrams have none
// that could be half open.
func (s *stage) born(p *past) uint64 {
	if s.datagrams {
		return math.MaxUint64
	}
	return p.born
}

// impair makes of a message, of 1 byte or more, what arrives of it.
func (s *stage) impair(p *past, message []byte, to netip.AddrPort) []delivery {
	m, cut, _ := s.impairments.standing(s.direction, s.born(p))
	if cut || m.Silent {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if happens(s.drop, m.DropProbability) {
		return nil
	}
	b := s.alter(&m, p, message)
	copies := 1
	if happens(s.repeat, m.RepeatProbability) {
		copies = 2
	}
	var out []delivery
	for _, each := range s.order(&m, p, letter{b, to}) {
		for range copies {
			out = append(out, s.deliver(&m, each))
		}
	}
	return out
}

// alter is the message as far as it is changed in itself.
func (s *stage) alter(m *Impairment, p *past, message []byte) []byte {
	b := append([]byte(nil), message...)
	before, known := p.transaction, p.known
	p.note(message)
	if happens(s.transaction, m.SameTransactionProbability) && known && headed(b) {
		copy(b, before[:])
	}
	if happens(s.unit, m.WrongUnitProbability) && headed(b) {
		b[mbapUnit]++
	}
	if happens(s.truncate, m.TruncateProbability) && len(b) > 1 {
		b = b[:1+s.truncate.IntN(len(b)-1)]
	}
	if happens(s.corrupt, m.CorruptProbability) {
		bit := s.flip.IntN(8 * len(b))
		b[bit/8] ^= 1 << (bit % 8)
	}
	return b
}

// deliver says when a message arrives. Datagrams come whole, with their last byte.
func (s *stage) deliver(m *Impairment, l letter) delivery {
	d := delivery{delay: m.Delay, pace: m.ByteInterval, to: l.to, bytes: l.bytes}
	if m.Jitter > 0 {
		d.delay += time.Duration(s.jitter.Float64() * float64(m.Jitter))
	}
	if s.datagrams {
		d.delay += time.Duration(len(l.bytes)-1) * d.pace
		d.pace = 0
	}
	return d
}

// happens draws only when there is something to decide.
func happens(s *seed.Stream, probability float64) bool {
	return probability > 0 && s.Float64() < probability
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
