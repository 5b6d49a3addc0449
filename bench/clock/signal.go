package clock

import "sync"

// Signal wakes processes that wait for it. The zero value is ready to use and
// must not be copied.
type Signal struct {
	mu      sync.Mutex
	raised  bool
	waiting []sleeper
}

// sleeper is a process that waits for a signal. wake must not block.
type sleeper interface{ wake() }

// Raise wakes every process that waits now. When none does, the next one to
// wait goes on at once. It may be called from anywhere and never blocks.
func (s *Signal) Raise() {
	s.mu.Lock()
	if len(s.waiting) == 0 {
		s.raised = true
	}
	for i, w := range s.waiting {
		w.wake()
		s.waiting[i] = nil
	}
	s.waiting = s.waiting[:0]
	s.mu.Unlock()
}

// enlist takes a pending raise and reports true, or adds w to those waiting.
func (s *Signal) enlist(w sleeper) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.raised {
		s.raised = false
		return true
	}
	s.waiting = append(s.waiting, w)
	return false
}

// take consumes a pending raise, if there is one.
func (s *Signal) take() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	raised := s.raised
	s.raised = false
	return raised
}

// leave removes w and reports whether it was still waiting.
func (s *Signal) leave(w sleeper) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	for i := range s.waiting {
		if s.waiting[i] == w {
			s.waiting = append(s.waiting[:i], s.waiting[i+1:]...)
			return true
		}
	}
	return false
}
