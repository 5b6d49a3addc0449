package controller

import "time"

// AllAxes, as an axis, stands for every one of them.
const AllAxes = -1

// Status is what the supervisory system knows of the controller.
type Status struct {
	// Heard tells that the agent answers. While it does not, State is
	// StateUnknown and the other fields are those last heard.
	Heard          bool
	At             time.Duration // last answer
	State          State
	StateSince     time.Duration // when this state was learned
	Cause          Cause
	CauseAxis      int           // an axis, or AllAxes
	CauseSince     time.Duration // when this cause was learned
	Locked         bool
	Acquired       bool
	Armed          bool
	Unacknowledged bool
	Counter        uint32
	CounterFrozen  bool
	Word           int32 // the status word itself
}

// Source is how something was learned.
type Source int

// The sources.
const (
	ByPoll Source = iota
	ByNotification
	BySilence // it was not heard any more
)

// String is the source in words.
func (s Source) String() string {
	return [...]string{"poll", "notification", "silence"}[s]
}

// Change is a change of what is known: state, cause, a flag, silence, or a counter
// that froze or went on.
type Change struct {
	At     time.Duration // learned then
	Status Status
	Source Source
}

// read takes a status word apart into s.
func (v *vocabulary) read(l *StatusLayout, raw int32, s *Status) {
	word := uint32(raw)
	s.Word = raw
	var ok bool
	if s.State, ok = v.states[l.State.of(word)]; !ok {
		s.State = StateUnknown
	}
	if s.Cause, ok = v.causes[l.Cause.of(word)]; !ok {
		s.Cause = Cause{Number: unknownCause}
	}
	if s.CauseAxis, ok = v.axes[l.CauseAxis.of(word)]; !ok || l.CauseAxis.Width == 0 {
		s.CauseAxis = AllAxes
	}
	s.Locked = l.Locked.of(word) != 0
	s.Acquired = l.Acquired.of(word) != 0
	s.Armed = l.Armed.of(word) != 0
	s.Unacknowledged = l.Unacknowledged.of(word) != 0
}

// learn takes in a status word and counter that arrived at now.
func (o *Observer) learn(now time.Duration, word int32, counter uint32, source Source) {
	o.mu.Lock()
	defer o.mu.Unlock()
	s := &o.latest
	if source == ByPoll && o.counters.Answered > 0 && int32(counter-s.Counter) < 0 {
		// Counting began anew: another life of the controller, and of its numbers.
		o.counters.Restarts++
		o.number = -1
	}
	if source == ByPoll {
		o.counters.Answered++
	}
	if counter != s.Counter || !s.Heard {
		s.Counter, o.counterAt = counter, now
	}
	frozen := now-o.counterAt >= o.timing.Frozen
	changed := !s.Heard || word != s.Word || frozen != s.CounterFrozen
	s.Heard, s.At, s.CounterFrozen = true, now, frozen
	if !changed {
		return
	}
	state, cause := s.State, s.Cause
	o.words.read(&o.profile.Layout, word, s)
	if s.State != state {
		s.StateSince = now
	}
	if s.Cause != cause {
		s.CauseSince = now
	}
	o.tell(Change{now, *s, source})
}

// miss takes note that a poll was not answered.
func (o *Observer) miss(now time.Duration) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.counters.Missed++
	s := &o.latest
	if !s.Heard || now-s.At < o.timing.Silent {
		return
	}
	s.Heard, s.State, s.StateSince = false, StateUnknown, now
	o.tell(Change{now, *s, BySilence})
}

// tell has the hooks called as an event, when everything is held still.
func (o *Observer) tell(c Change) {
	hooks := o.onChange
	o.clock.At(c.At, func() {
		for _, h := range hooks {
			h(c)
		}
	})
}
