package link

import (
	"sync"
	"time"
)

// Impairment is what one direction of a service suffers. The zero value is
// none. Probabilities are 0..1 for each message by itself.
type Impairment struct {
	Silent bool          // messages vanish
	Delay  time.Duration // added to each message
	Jitter time.Duration // added too: 0 to this, evenly spread
	// Messages vanish, lose their end, have one bit turned over, or come twice.
	DropProbability, TruncateProbability float64
	CorruptProbability                   float64
	RepeatProbability                    float64
}

// Conditions are all standing impairments of one service.
type Conditions struct {
	ToDevice, ToController Impairment
	// Refuse turns new connections away and leaves the others.
	Refuse bool
	// Pulled is a cable out of its socket: existing connections fall silent
	// both ways, new ones time out, and what is sent meanwhile is lost.
	Pulled bool
}

func (c *Conditions) direction(d Direction) *Impairment {
	if d == ToDevice {
		return &c.ToDevice
	}
	return &c.ToController
}

// Impairments of a service, switchable at run time from any goroutine. No
// change waits for a peer.
type Impairments struct {
	mu         sync.Mutex
	conditions Conditions
	clean      bool // conditions is the zero value
	changed    func()
	reset      func()
}

func newImpairments(changed, reset func()) *Impairments {
	return &Impairments{clean: true, changed: changed, reset: reset}
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
	edit(&i.conditions)
	i.clean = i.conditions == Conditions{}
	i.mu.Unlock()
	if i.changed != nil {
		i.changed()
	}
}

// Reset breaks every existing connection now, as a device that restarts does.
func (i *Impairments) Reset() {
	if i.reset != nil {
		i.reset()
	}
}

// standing copies the impairment of one direction; ok is false when there is
// none, the cable being in.
func (i *Impairments) standing(d Direction) (m Impairment, pulled, ok bool) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.clean {
		return m, false, false
	}
	return *i.conditions.direction(d), i.conditions.Pulled, true
}
