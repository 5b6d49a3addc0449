package link

import (
	"sync"
	"sync/atomic"
	"time"
)

// Impairment is what one direction of one end of the wire suffers. The zero value is
// none. Probabilities are 0..1 for each message by itself.
type Impairment struct {
	Silent bool          // messages vanish
	Delay  time.Duration // added to each message
	Jitter time.Duration // added too: 0 to this, evenly spread
	// ByteInterval makes a stream slow: this much passes between any two bytes of
	// a message. A datagram comes when its last byte would.
	ByteInterval time.Duration
	// Messages vanish, lose their end, have one bit turned over, or come twice.
	DropProbability, TruncateProbability float64
	CorruptProbability                   float64
	RepeatProbability                    float64
	// Messages wait for the next one of their connection and direction, and with
	// no next one never come: then go first (late, so that whoever takes each
	// reply for that to the last request stays one behind), go first with the
	// two transaction identifiers exchanged, or go in one piece with it, which
	// datagrams do not. When the impairment is removed, what waits is lost.
	LateProbability, SwapProbability float64
	MergeProbability                 float64
	// Messages with an MBAP header carry the transaction identifier of the one
	// before, or a unit identifier that is one too high.
	SameTransactionProbability float64
	WrongUnitProbability       float64
}

// Conditions are all standing impairments of a service or of a client.
type Conditions struct {
	ToDevice, ToController Impairment
	// Refuse turns new connections away and leaves the others.
	Refuse bool
	// Pulled is a cable out of its socket: existing connections fall silent
	// both ways, new ones time out, and what is sent meanwhile is lost.
	Pulled bool
	// HalfOpen leaves every stream that was open when it was switched on dead:
	// nothing passes either way and nobody is told. New ones are sound.
	HalfOpen bool
}

func (c *Conditions) direction(d Direction) *Impairment {
	if d == ToDevice {
		return &c.ToDevice
	}
	return &c.ToController
}

// Impairments of a service, or of a client's connections, switchable at run time
// from any goroutine. No change waits for a peer.
type Impairments struct {
	any        atomic.Bool // conditions is not the zero value
	mu         sync.Mutex
	conditions Conditions
	openings   uint64 // how often HalfOpen was switched on
	changed    func()
	reset      func()
}

func newImpairments(changed, reset func()) *Impairments {
	return &Impairments{changed: changed, reset: reset}
}

// Conditions are those that stand now.
func (i *Impairments) Conditions() Conditions {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.conditions
}

// Change edits the conditions in one go. Messages already under way stay as
// they are.
func (i *Impairments) Change(edit func(*Conditions)) {
	i.mu.Lock()
	was := i.conditions.HalfOpen
	edit(&i.conditions)
	if i.conditions.HalfOpen && !was {
		i.openings++
	}
	i.any.Store(i.conditions != Conditions{})
	i.mu.Unlock()
	if i.changed != nil {
		i.changed()
	}
}

// Reset breaks every existing stream now, as a device that restarts does: both ends
// read that it was reset.
func (i *Impairments) Reset() {
	if i.reset != nil {
		i.reset()
	}
}

// current copies the impairment of one direction for a connection opened after so
// many half-openings; cut is a way on which nothing passes, ok is false when there
// is no impairment at all.
func (i *Impairments) current(d Direction, openedAfter uint64) (m Impairment, cut, ok bool) {
	if !i.any.Load() {
		return m, false, false
	}
	i.mu.Lock()
	defer i.mu.Unlock()
	c := &i.conditions
	return *c.direction(d), c.Pulled || c.HalfOpen && openedAfter < i.openings, true
}
