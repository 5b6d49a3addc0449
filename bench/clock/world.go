package clock

import "sync"

// world is the lock of a Wall clock. Either one holder holds everything still
// (Do, events), or processes run, at most one of each group. Both sides get
// their turn: processes that wait when a holder leaves go before the next one.
type world struct {
	mu      sync.Mutex
	changed *sync.Cond
	held    bool
	holders int // wait to hold
	running int // processes
	waiting int // processes that wait to run
	turns   int // of those, so many go before the next holder
}

func newWorld() *world {
	w := &world{}
	w.changed = sync.NewCond(&w.mu)
	return w
}

func (w *world) hold() {
	w.mu.Lock()
	w.holders++
	for w.held || w.running > 0 || w.turns > 0 {
		w.changed.Wait()
	}
	w.holders--
	w.held = true
	w.mu.Unlock()
}

func (w *world) release() {
	w.mu.Lock()
	w.held = false
	w.turns = w.waiting
	w.changed.Broadcast()
	w.mu.Unlock()
}

// enter waits for the baton of g and reports false when g is being stopped.
func (w *world) enter(g *wallGroup, life *lifetime) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.waiting++
	for !life.over && (w.held || g.busy || w.holders > 0 && w.turns == 0) {
		w.changed.Wait()
	}
	w.waiting--
	if life.over {
		w.turns = min(w.turns, w.waiting)
		w.changed.Broadcast()
		return false
	}
	w.turns = max(w.turns-1, 0)
	g.busy = true
	w.running++
	return true
}

// leave gives the baton of g back.
func (w *world) leave(g *wallGroup) {
	w.mu.Lock()
	g.busy = false
	w.running--
	w.changed.Broadcast()
	w.mu.Unlock()
}

// end makes every process of that lifetime stop where it waits.
func (w *world) end(life *lifetime) {
	w.mu.Lock()
	if !life.over {
		life.over = true
		close(life.ended)
	}
	w.changed.Broadcast()
	w.mu.Unlock()
}
