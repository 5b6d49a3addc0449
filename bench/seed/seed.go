package seed

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
)

// Seed fixes every random draw of a run.
type Seed uint64

// Parse reads a seed: a decimal number, or hexadecimal with 0x before it.
func Parse(text string) (Seed, error) {
	value, err := strconv.ParseUint(text, 0, 64)
	if err != nil {
		return 0, fmt.Errorf("seed: %q is not a whole number from 0 to 2^64-1", text)
	}
	return Seed(value), nil
}

func (s Seed) String() string { return strconv.FormatUint(uint64(s), 10) }

// Derive makes the seed of a part, such as a scenario from the seed of its
// run. Parts are told apart: ("ab", "c") and ("a", "bc") differ.
func (s Seed) Derive(parts ...string) Seed {
	sum := s.hash(parts)
	return Seed(binary.BigEndian.Uint64(sum[:8]))
}

// hash puts the length before each part, so that no two lists of parts run
// together into the same bytes.
func (s Seed) hash(parts []string) [sha256.Size]byte {
	var buffer []byte
	buffer = binary.BigEndian.AppendUint64(buffer, uint64(s))
	for _, part := range parts {
		buffer = binary.BigEndian.AppendUint64(buffer, uint64(len(part)))
		buffer = append(buffer, part...)
	}
	return sha256.Sum256(buffer)
}

// Stream makes the named stream of the seed from its beginning; two calls with
// one name give two streams that draw the same.
func (s Seed) Stream(name string) *Stream {
	return &Stream{seed: s, name: name}
}

// Stream is a source of chance. It is not safe for concurrent use.
type Stream struct {
	seed   Seed
	name   string
	source *rand.ChaCha8 // nil until the first draw; many streams never draw
	spare  float64       // second value of the last polar pair
	paired bool
}

// Uint64 draws 64 uniform bits.
func (s *Stream) Uint64() uint64 {
	if s.source == nil {
		s.source = rand.NewChaCha8(s.seed.hash([]string{"stream", s.name}))
	}
	return s.source.Uint64()
}

// Float64 draws uniformly from [0, 1) in steps of 2^-53.
func (s *Stream) Float64() float64 { return float64(s.Uint64()>>11) / (1 << 53) }

// IntN draws uniformly from [0, n). It panics unless n is at least 1.
func (s *Stream) IntN(n int) int {
	if n < 1 {
		panic("seed: IntN needs a bound of at least 1")
	}
	bound := uint64(n)
	// The lowest 2^64 mod n draws would favour small results; they are redrawn.
	reject := -bound % bound
	for {
		if draw := s.Uint64(); draw >= reject {
			return int(draw % bound)
		}
	}
}

// Normal draws from the normal distribution of mean 0 and deviation 1, by
// Marsaglia's polar method (Knuth, The Art of Computer Programming vol. 2,
// 3.4.1 C, from memory).
func (s *Stream) Normal() float64 {
	if s.paired {
		s.paired = false
		return s.spare
	}
	for {
		x := float64(2*s.Float64()) - 1
		y := float64(2*s.Float64()) - 1
		square := float64(x*x) + float64(y*y)
		if square >= 1 || square == 0 {
			continue
		}
		scale := math.Sqrt(-2 * math.Log(square) / square)
		s.spare, s.paired = y*scale, true
		return x * scale
	}
}
