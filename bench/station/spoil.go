package station

import (
	"haltmark/bench/fault"
	"haltmark/bench/link"
)

// spoil maps what happens to messages and connections on a wire; false for any
// other effect.
func (s *Station) spoil(effect fault.Effect, on bool) bool {
	switch e := effect.(type) {
	case fault.Spoiled:
		s.eachWay(e.Device, e.Direction, func(way *link.Impairment) {
			*spoiling(way, e.How) = either(on, float64(e.Probability), 0)
		})
	case fault.SlowBytes:
		s.eachWay(e.Device, e.Direction, func(way *link.Impairment) {
			way.ByteInterval = either(on, e.Every, 0)
		})
	case fault.HalfOpen:
		if f := s.front(targeted(e.Device)); f != nil {
			// Switched on again, it would catch the connections made since.
			f.halfOpen += either(on, 1, -1)
			s.change(e.Device, func(c *link.Conditions) { c.HalfOpen = f.halfOpen > 0 })
		}
	default:
		return false
	}
	return true
}

// eachWay edits the impairment of one direction or of both.
func (s *Station) eachWay(d fault.Device, which fault.Direction, edit func(*link.Impairment)) {
	s.change(d, func(c *link.Conditions) {
		if which.Includes(fault.ToDevice) {
			edit(&c.ToDevice)
		}
		if which.Includes(fault.ToController) {
			edit(&c.ToController)
		}
	})
}

// spoiling is the probability of a direction that stands for it.
func spoiling(way *link.Impairment, how fault.Spoiling) *float64 {
	return map[fault.Spoiling]*float64{
		fault.Dropped: &way.DropProbability, fault.Repeated: &way.RepeatProbability,
		fault.Truncated: &way.TruncateProbability, fault.Corrupted: &way.CorruptProbability,
		fault.Late: &way.LateProbability, fault.TransactionsSwapped: &way.SwapProbability,
		fault.TransactionRepeated: &way.SameTransactionProbability,
		fault.WrongUnit:           &way.WrongUnitProbability, fault.Merged: &way.MergeProbability,
	}[how]
}
