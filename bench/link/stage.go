package link

import (
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

	mu                                      sync.Mutex // guards the streams
	jitter, drop, truncate, corrupt, repeat *seed.Stream
	flip                                    *seed.Stream
}

func newStage(s seed.Seed, service string, d Direction, i *Impairments) *stage {
	s = s.Derive("link", service, d.String())
	return &stage{
		direction: d, impairments: i,
		jitter: s.Stream("jitter"), drop: s.Stream("drop"), repeat: s.Stream("repeat"),
		truncate: s.Stream("truncate"), corrupt: s.Stream("corrupt"), flip: s.Stream("flip"),
	}
}

// delivery is what becomes of a message: its first size bytes arrive after
// delay, one bit of them turned over unless flip is negative.
type delivery struct {
	delay time.Duration
	size  int
	flip  int // in bits
}

// deliveries is none, one, or two of them.
type deliveries struct {
	count int
	each  [2]delivery
}

// impair decides what becomes of a message of the given size, 1 or more.
func (s *stage) impair(size int) (out deliveries) {
	m, pulled, ok := s.impairments.standing(s.direction)
	if !ok {
		out.count = 1
		out.each[0] = delivery{size: size, flip: -1}
		return out
	}
	if pulled || m.Silent {
		return out
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if happens(s.drop, m.DropProbability) {
		return out
	}
	d := delivery{delay: m.Delay, size: size, flip: -1}
	if happens(s.truncate, m.TruncateProbability) && size > 1 {
		d.size = 1 + s.truncate.IntN(size-1)
	}
	if happens(s.corrupt, m.CorruptProbability) {
		d.flip = s.flip.IntN(8 * d.size)
	}
	out.count = 1
	if happens(s.repeat, m.RepeatProbability) {
		out.count = 2
	}
	for i := range out.count {
		out.each[i] = d
		if m.Jitter > 0 {
			out.each[i].delay += time.Duration(s.jitter.Float64() * float64(m.Jitter))
		}
	}
	return out
}

// happens draws only when there is something to decide.
func happens(s *seed.Stream, probability float64) bool {
	return probability > 0 && s.Float64() < probability
}

// appendTo appends the delivered form of a message.
func (d delivery) appendTo(dst, message []byte) []byte {
	start := len(dst)
	dst = append(dst, message[:d.size]...)
	if d.flip >= 0 {
		dst[start+d.flip/8] ^= 1 << (d.flip % 8)
	}
	return dst
}
