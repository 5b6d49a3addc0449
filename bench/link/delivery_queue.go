package link

import (
	"sync"
	"time"
)

// queuedMax bounds what is delayed at a time; more is lost.
const queuedMax = 1024

// queued is a message on its way through one end of Host.
type queued struct {
	message
	arrival time.Duration // of the request, complete
	due     time.Duration // when it is to be delivered
	pace    time.Duration // more for each further byte
	part    bool          // there is more to come of it
}

// deliveryQueue delivers delayed messages when they are due, in order. Its goroutine
// starts with the first of them.
type deliveryQueue struct {
	host    *Host
	deliver func(queued)

	mu      sync.Mutex
	waiting []queued
	busy    bool // a message waits or is being delivered
	started bool
	stopped bool
	wake    chan struct{}
	cancel  chan struct{}
	task    sync.WaitGroup
}

func newDeliveryQueue(h *Host, deliver func(queued)) *deliveryQueue {
	return &deliveryQueue{
		host: h, deliver: deliver,
		wake: make(chan struct{}, 1), cancel: make(chan struct{}),
	}
}

// idle reports whether nothing would be overtaken.
func (q *deliveryQueue) idle() bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	return !q.busy
}

// over reports whether the queue has been cut off.
func (q *deliveryQueue) over() bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.stopped
}

// push adds a message; it never waits.
func (q *deliveryQueue) push(m queued) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.stopped || len(q.waiting) >= queuedMax {
		return
	}
	q.waiting = append(q.waiting, m)
	q.busy = true
	if !q.started {
		q.started = true
		q.task.Add(1)
		go q.run()
	}
	select {
	case q.wake <- struct{}{}:
	default:
	}
}

func (q *deliveryQueue) run() {
	defer q.task.Done()
	for {
		m, ok := q.next()
		if !ok {
			select {
			case <-q.wake:
				continue
			case <-q.cancel:
				return
			}
		}
		whole, due := delivery{message: m.message, pace: m.pace}, m.due
		for piece := range whole.pieces() {
			m.due, m.bytes, m.part = due+piece.delay, piece.bytes, piece.more
			if !q.host.pause(m.due, q.cancel) {
				return
			}
			q.deliver(m)
		}
	}
}

// next takes the first message. On none, the queue is idle.
func (q *deliveryQueue) next() (queued, bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if len(q.waiting) == 0 {
		q.busy = false
		return queued{}, false
	}
	m := q.waiting[0]
	q.waiting[0] = queued{}
	if q.waiting = q.waiting[1:]; len(q.waiting) == 0 {
		q.waiting = nil
	}
	return m, true
}

// cutOff drops what waits and lets the goroutine end, without waiting for it.
func (q *deliveryQueue) cutOff() {
	q.mu.Lock()
	defer q.mu.Unlock()
	if !q.stopped {
		q.stopped = true
		close(q.cancel)
	}
}

// stop cuts off and waits for the goroutine.
func (q *deliveryQueue) stop() {
	q.cutOff()
	q.task.Wait()
}
