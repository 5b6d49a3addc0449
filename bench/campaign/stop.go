package campaign

import (
	"errors"
	"time"

	"haltmark/bench/clock"
)

// ErrStopped is the error of a campaign that was told to stop before its end.
var ErrStopped = errors.New("the run was stopped")

// stopped reports whether the campaign was told to stop.
func (p *Plan) stopped() bool {
	select {
	case <-p.Stop:
		return true
	default:
		return false
	}
}

// breakable is a wall clock whose outside leaves, by a panic that Plan.try takes for
// what it is, when the campaign is told to stop.
type breakable struct {
	clock.Clock
	stopped func() bool
}

// Run implements clock.Clock.
func (b breakable) Run(until time.Duration, done func() bool) bool {
	held := b.Clock.Run(until, func() bool { return b.stopped() || done != nil && done() })
	if b.stopped() {
		panic(ErrStopped)
	}
	return held
}
