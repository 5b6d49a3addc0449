package station

import (
	"fmt"
	"slices"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// supplyFaults are of the electric supply.
func supplyFaults() []faultKind {
	dip := []fault.Parameter{
		{Name: "to", Does: "voltage left, as a share of the nominal; 0 % is none",
			Dimension: quantity.DimRatio, Default: "40 %", Lowest: "0 %", Highest: "100 %",
			Idle: "100 %"},
		{Name: "length", Does: "how long; 0 s is as long as the fault stands",
			Dimension: quantity.DimSpan, Default: "0 s", Lowest: "0 s", Highest: "24 h"}}
	return []faultKind{
		{
			Kind: fault.Kind{Name: "supply_dip", Place: fault.PlacePhysics, On: onStation(),
				Does:       "the supply of every drive dips; interlock unit and brakes keep theirs",
				Parameters: dip},
			needs: aDriveThatFeelsADip, act: dipSupply, adds: true,
		},
		{
			Kind: fault.Kind{Name: "drive_supply_dip", Place: fault.PlacePhysics, On: onMotor(),
				Does: "the supply of one drive dips", Parameters: dip},
			needs: aDriveThatFeelsADip, act: dipSupply, adds: true,
		},
		{
			Kind: fault.Kind{Name: "supply_lost", Place: fault.PlacePhysics, On: onStation(),
				Does: "the supply of every drive, brake and interlock output is gone"},
			act: func(s *Station, e fault.Edge) { s.field.supplyLost = e.Began },
		},
		{
			Kind: fault.Kind{Name: "mains_lost", Place: fault.PlacePhysics, On: onStation(),
				Does: "the supply of every drive is gone; interlock unit and brakes keep theirs"},
			act: func(s *Station, e fault.Edge) {
				for m := range s.field.driveDead {
					s.field.driveDead[m] = e.Began
				}
			},
		},
		{
			Kind: fault.Kind{Name: "drive_supply_lost", Place: fault.PlacePhysics,
				On: onMotor(), Does: "the supply of one drive is gone"},
			act: func(s *Station, e fault.Edge) { s.field.driveDead[e.Target().Motor] = e.Began },
		},
	}
}

// aDriveThatFeelsADip wants a drive that tells a low supply from a good one: by its
// direct-current link, or by its base rate. Every drive feels that there is none.
func aDriveThatFeelsADip(p *Parameters, f fault.Fault) error {
	if f.Value("to") == 0 {
		return nil
	}
	for m := range p.Drives {
		d := &p.Drives[m]
		if dipped(f, m) && (d.Link.Energy > 0 || d.BaseRate > 0) {
			return nil
		}
	}
	return fmt.Errorf("station %s has no drive there whose sheet tells of a base rate or of a "+
		"direct-current link: a lower voltage changes nothing", p.Name)
}

// supply is the voltage of the drives. One that is lost is told apart from one that
// dips, as brakes and the interlock unit may go with it.
type supply struct {
	share [plant.MotorCount]quantity.Ratio // of the nominal; zero is none
	dips  []*dip                           // that stand
}

// dip is one dip of the supply.
type dip struct {
	fault.Edge
	over bool // its length has passed
}

// dipped reports whether a dip is of a motor's drive.
func dipped(f fault.Fault, motor int) bool {
	return f.Target().Name == "station" || f.Target().Motor == motor
}

func dipSupply(s *Station, e fault.Edge) {
	p := &s.supply
	if !e.Began {
		p.dips = slices.DeleteFunc(p.dips, func(d *dip) bool { return d.ID == e.ID })
		s.feed(e.At)
		return
	}
	one := &dip{Edge: e}
	p.dips = append(p.dips, one)
	s.feed(e.At)
	if length := e.Span("length"); length > 0 {
		s.At(e.At+length, func(now time.Duration) {
			one.over = true
			s.feed(now)
		})
	}
}

// feed finds the voltage of every drive: the lowest that a dip leaves of the
// station's own. The record has it in per mille of the nominal where it changes.
func (s *Station) feed(now time.Duration) {
	for m, was := range s.supply.share {
		share := s.set.supply()
		for _, d := range s.supply.dips {
			if !d.over && dipped(d.Fault, m) {
				share = min(share, quantity.Ratio(d.Value("to")))
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

// supplied reports whether a drive has any voltage, and which.
func (s *Station) supplied(motor int) (bool, quantity.Ratio) {
	share := s.supply.share[motor]
	return share > 0 && !s.field.supplyLost && !s.field.driveDead[motor], share
}
