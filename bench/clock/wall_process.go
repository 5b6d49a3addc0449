package clock

import (
	"sync"
	"time"
)

// Group implements Clock.
func (w *Wall) Group(name string) Group {
	g := &wallGroup{w: w, name: name, life: newLifetime()}
	w.mu.Lock()
	w.groups = append(w.groups, g)
	w.mu.Unlock()
	return g
}

// lifetime is that of a group from its making, or a stop, to the next stop.
type lifetime struct {
	over  bool // guarded by world.mu
	ended chan struct{}
	tasks sync.WaitGroup
}

func newLifetime() *lifetime { return &lifetime{ended: make(chan struct{})} }

type wallGroup struct {
	w    *Wall
	name string
	busy bool // one of its processes has the baton; guarded by world.mu

	mu   sync.Mutex
	life *lifetime
}

func (g *wallGroup) Start(name string, body func(Process)) {
	g.mu.Lock()
	defer g.mu.Unlock()
	select {
	case <-g.w.closed:
		return
	default:
	}
	p := &thread{w: g.w, group: g, life: g.life, woken: make(chan struct{}, 1)}
	g.life.tasks.Add(1)
	go func() {
		defer p.life.tasks.Done()
		g.w.guard("process "+name+" of "+g.name, func() { p.run(body) })
	}()
}

func (g *wallGroup) Stop() {
	g.mu.Lock()
	life := g.life
	g.life = newLifetime()
	g.mu.Unlock()
	g.w.world.end(life)
	life.tasks.Wait()
}

// thread is a process of a Wall clock.
type thread struct {
	w      *Wall
	group  *wallGroup
	life   *lifetime
	holds  bool // has the baton
	woken  chan struct{}
	raised time.Duration // when the signal was, written before woken is sent
	timer  *time.Timer
}

func (p *thread) run(body func(Process)) {
	p.w.lockThread()
	p.timer = newTimer()
	defer p.release()
	p.acquire()
	body(p)
}

func (p *thread) acquire() {
	if !p.w.world.enter(p.group, p.life) {
		panic(stopped{})
	}
	p.holds = true
}

func (p *thread) release() {
	if p.holds {
		p.holds = false
		p.w.world.leave(p.group)
	}
}

// Now implements Process.
func (p *thread) Now() time.Duration { return p.w.Now() }

// SleepUntil implements Process.
func (p *thread) SleepUntil(when time.Duration) {
	if when <= p.Now() {
		p.yieldIfStopped()
		return
	}
	p.release()
	if !p.w.pause(when, p.timer, p.life.ended, coarse) {
		panic(stopped{})
	}
	p.acquire()
	p.w.recordLate(when)
}

// Wait implements Process.
func (p *thread) Wait(s *Signal, deadline time.Duration) bool {
	left := deadline - p.Now()
	if left <= 0 {
		p.yieldIfStopped()
		return s.take()
	}
	if s.enlist(p) {
		p.yieldIfStopped()
		return true
	}
	p.release()
	woken := p.await(s, left)
	p.acquire()
	if woken {
		p.w.recordLate(p.raised)
	}
	return woken
}

// await reports whether the signal came within the time that is left.
func (p *thread) await(s *Signal, left time.Duration) bool {
	p.timer.Reset(left)
	defer p.timer.Stop()
	select {
	case <-p.woken:
		return true
	case <-p.life.ended:
		if !s.leave(p) {
			<-p.woken
		}
		panic(stopped{})
	case <-p.timer.C:
		if s.leave(p) {
			return false
		}
		<-p.woken // raised between the timer and now
		return true
	}
}

// yieldIfStopped ends a stopped process that never has to wait.
func (p *thread) yieldIfStopped() {
	select {
	case <-p.life.ended:
		panic(stopped{})
	default:
	}
}

func (p *thread) wake() {
	p.raised = p.w.Now()
	p.woken <- struct{}{} // never full: a process waits for one signal at a time
}
