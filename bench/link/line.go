package link

import "sync"

// lineMaxParcels bounds what is delayed at a time; more is lost.
const lineMaxParcels = 1024

// line delivers delayed messages when they are due, in order. Its goroutine
// starts with the first of them.
type line struct {
	host    *Host
	deliver func(parcel)

	mu      sync.Mutex
	queue   []parcel
	busy    bool // a message waits or is being delivered
	started bool
	stopped bool
	wake    chan struct{}
	cancel  chan struct{}
	task    sync.WaitGroup
}

func newLine(h *Host, deliver func(parcel)) *line {
	return &line{
		host: h, deliver: deliver,
		wake: make(chan struct{}, 1), cancel: make(chan struct{}),
	}
}

// idle reports whether nothing would be overtaken.
func (l *line) idle() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return !l.busy
}

// over reports whether the line has been cut.
func (l *line) over() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.stopped
}

// push adds a message; it never waits.
func (l *line) push(m parcel) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.stopped || len(l.queue) >= lineMaxParcels {
		return
	}
	l.queue = append(l.queue, m)
	l.busy = true
	if !l.started {
		l.started = true
		l.task.Add(1)
		go l.run()
	}
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

func (l *line) run() {
	defer l.task.Done()
	for {
		m, ok := l.next()
		if !ok {
			select {
			case <-l.wake:
				continue
			case <-l.cancel:
				return
			}
		}
		whole := delivery{pace: m.pace, bytes: m.bytes}
		due := m.due
		for piece := range whole.pieces() {
			m.due, m.bytes, m.part = due+piece.delay, piece.bytes, piece.more
			if !l.host.pause(m.due, l.cancel) {
				return
			}
			l.deliver(m)
		}
	}
}

// next takes the first message. On none, the line is idle.
func (l *line) next() (parcel, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.queue) == 0 {
		l.busy = false
		return parcel{}, false
	}
	m := l.queue[0]
	l.queue[0] = parcel{}
	if l.queue = l.queue[1:]; len(l.queue) == 0 {
		l.queue = nil
	}
	return m, true
}

// cut drops what waits and lets the goroutine end, without waiting for it.
func (l *line) cut() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.stopped {
		l.stopped = true
		close(l.cancel)
	}
}

// stop cuts and waits for the goroutine.
func (l *line) stop() {
	l.cut()
	l.task.Wait()
}
