package record

import (
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

// Row is a sample as a subscriber is told it, its own copy: a value of each channel,
// then Sample's mins and maxs.
type Row struct {
	At     time.Duration
	Values []float64
}

// Subscription is what is recorded from its beginning on. It never holds the run up:
// what does not fit behind a slow subscriber is lost to it, and counted.
type Subscription struct {
	// Items are Rows, Edges, Marks and Asks in the order in which they were taken down.
	// The channel is closed when the recorder is.
	Items <-chan any

	items chan any
	lost  atomic.Uint64
	of    *subscribers
}

// subscribers are those of a recorder. The recorder's own goroutine tells them, and
// any goroutine may add and remove one.
type subscribers struct {
	mu  sync.Mutex                      // guards changes of all
	all atomic.Pointer[[]*Subscription] // nil for nobody
}

// Subscribe tells what is recorded from now on, and keeps at most so many items that
// were not received yet. It may be called from anywhere.
func (r *Recorder) Subscribe(room int) *Subscription {
	s := &Subscription{items: make(chan any, room), of: &r.subscribers}
	s.Items = s.items
	s.of.change(func(all []*Subscription) []*Subscription { return append(all, s) })
	return s
}

// Lost is how many items found no room.
func (s *Subscription) Lost() uint64 { return s.lost.Load() }

// Cancel ends the subscription, from anywhere; what is in Items stays there.
func (s *Subscription) Cancel() {
	s.of.change(func(all []*Subscription) []*Subscription {
		return slices.DeleteFunc(all, func(other *Subscription) bool { return other == s })
	})
}

// change replaces the list by an edited copy.
func (s *subscribers) change(edit func([]*Subscription) []*Subscription) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var all []*Subscription
	if before := s.all.Load(); before != nil {
		all = slices.Clone(*before)
	}
	if all = edit(all); len(all) == 0 {
		s.all.Store(nil)
		return
	}
	s.all.Store(&all)
}

// some reports whether anybody is subscribed.
func (s *subscribers) some() bool { return s.all.Load() != nil }

// tell gives an item to everybody, without waiting.
func (s *subscribers) tell(item any) {
	all := s.all.Load()
	if all == nil {
		return // cancelled meanwhile
	}
	for _, each := range *all {
		if row, ok := item.(Row); ok {
			row.Values = slices.Clone(row.Values)
			item = row
		}
		select {
		case each.items <- item:
		default:
			each.lost.Add(1)
		}
	}
}

// close ends every subscription.
func (s *subscribers) close() {
	s.change(func(all []*Subscription) []*Subscription {
		for _, each := range all {
			close(each.items)
		}
		return nil
	})
}
