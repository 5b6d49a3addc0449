package station

import (
	"slices"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// supply is the voltage of the drives. One that is lost is told apart from one that
// dips, as brakes and the interlock unit may go with it.
type supply struct {
	share   [plant.MotorCount]quantity.Ratio // of the nominal; nought is none
	dipping []*dip                           // that stand
}

// dip is one dip of the supply.
type dip struct {
	fault.SupplyDip
	over bool // its length has passed
}

// dipSupply begins or ends a dip; false for any other effect.
func (s *Station) dipSupply(effect fault.Effect, on bool, now time.Duration) bool {
	e, ok := effect.(fault.SupplyDip)
	if !ok {
		return false
	}
	p := &s.supply
	if !on {
		i := slices.IndexFunc(p.dipping, func(d *dip) bool { return d.SupplyDip == e })
		p.dipping = slices.Delete(p.dipping, i, i+1)
		s.feed(now)
		return true
	}
	one := &dip{SupplyDip: e}
	p.dipping = append(p.dipping, one)
	s.feed(now)
	if e.Length > 0 {
		s.At(now+e.Length, func(now time.Duration) {
			one.over = true
			s.feed(now)
		})
	}
	return true
}

// feed finds the voltage of every drive: the lowest that a dip leaves of the
// station's own. The record has it in per mille of the nominal where it changes.
func (s *Station) feed(now time.Duration) {
	for m, was := range s.supply.share {
		share := s.set.supply()
		for _, d := range s.supply.dipping {
			if !d.over && (d.Motor < 0 || d.Motor == m) {
				share = min(share, d.To)
			}
		}
		if share == was {
			continue
		}
		s.supply.share[m] = share
		if s.watch != nil {
			s.watch.to.Edge(now, channel.Supply.Of(plant.MotorNames[m]), perMille(share))
		}
	}
}

func perMille(share quantity.Ratio) int64 { return int64(float64(share)*1000 + 0.5) }

// supply is the voltage of the station's own supply as a share of the nominal.
func (p *Parameters) supply() quantity.Ratio {
	if p.Supply == 0 {
		return 1
	}
	return p.Supply
}

// supplied tells whether a drive has any voltage, and which.
func (s *Station) supplied(motor int) (bool, quantity.Ratio) {
	share := s.supply.share[motor]
	return share > 0 && !s.field.supplyLost && !s.field.driveDead[motor], share
}
