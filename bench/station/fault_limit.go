package station

import (
	"fmt"
	"math"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/interlock"
)

// limitFaults are of limit switches, and of where they stand.
func limitFaults() []faultKind {
	return []faultKind{
		preLimit("pre_limit_welded", "the pre-limit switch never opens",
			interlock.SwitchWeldedClosed),
		preLimit("pre_limit_inverted", "the pre-limit switch opens inside and closes outside",
			interlock.SwitchInverted),
		preLimit("pre_limit_open", "the pre-limit switch never closes", interlock.SwitchWeldedOpen),
		finalLimit("final_limit_welded", "the final-limit switch never opens",
			interlock.SwitchWeldedClosed),
		finalLimit("final_limit_inverted", "the final-limit switch opens inside and closes outside",
			interlock.SwitchInverted),
		finalLimit("final_limit_open", "the final-limit switch never closes",
			interlock.SwitchWeldedOpen),
		{
			Kind: fault.Kind{Name: "pre_limits_swapped", Place: fault.PlacePhysics,
				On: onMainAxis(), Does: "the pre-limit switches of both ends are exchanged"},
			act: func(s *Station, e fault.Edge) {
				s.Interlock.Faults.PreLimitSwapped[e.Target().Axis] = e.Began
			},
		},
		{
			Kind: fault.Kind{Name: "final_limits_swapped", Place: fault.PlacePhysics,
				On: onMainAxis(), Does: "the final-limit switches of both ends are exchanged"},
			needs: aFinalLimit,
			act: func(s *Station, e fault.Edge) {
				s.Interlock.Faults.FinalLimitSwapped[e.Target().Axis] = e.Began
			},
		},
		{
			Kind: fault.Kind{Name: "limit_chain_shifted", Place: fault.PlacePhysics, On: onEnd(),
				Does: "switches, buffer and structure are inboard of their configured positions",
				Parameters: []fault.Parameter{{Name: "inward", Does: "by how much",
					Dimension: quantity.DimAngle, Lowest: "0 deg", Highest: "360 deg",
					Example: "20 deg", Idle: "0 deg"}}},
			needs: roomToShift, act: shiftLimitChain,
		},
	}
}

func preLimit(name, does string, how interlock.SwitchFault) faultKind {
	return faultKind{
		Kind: fault.Kind{Name: name, Place: fault.PlacePhysics, On: onEnd(), Does: does},
		act: func(s *Station, e fault.Edge) {
			t := e.Target()
			s.Interlock.Faults.PreLimit[t.Axis][t.End] = either(e.Began, how, interlock.SwitchSound)
		},
	}
}

func finalLimit(name, does string, how interlock.SwitchFault) faultKind {
	return faultKind{
		Kind:  fault.Kind{Name: name, Place: fault.PlacePhysics, On: onEnd(), Does: does},
		needs: aFinalLimit,
		act: func(s *Station, e fault.Edge) {
			t := e.Target()
			s.Interlock.Faults.FinalLimit[t.Axis][t.End] = either(e.Began, how, interlock.SwitchSound)
		},
	}
}

func aFinalLimit(p *Parameters, f fault.Fault) error {
	return p.needFinalLimit(f.Target().Axis)
}

// needFinalLimit wants final limits that are hardwired: without a contact in the enable
// chain a switch is only a signal.
func (p *Parameters) needFinalLimit(axis int) error {
	if !p.Wiring.FinalLimit[axis] {
		return p.lacks("final limit in the enable chain of " + plant.AxisNames[axis])
	}
	return nil
}

// roomToShift keeps the limit chain of an end on its own side of the travel.
func roomToShift(p *Parameters, f fault.Fault) error {
	axis, inward := f.Target().Axis, quantity.Angle(f.Value("inward"))
	soft := p.Plant.Axes[axis].Limits.Software
	if half := (soft[plant.Upper] - soft[plant.Lower]) / 2; inward >= half {
		return fmt.Errorf("%v inboard is beyond the middle of the travel of %s, %v away", inward,
			plant.AxisNames[axis], half)
	}
	return nil
}

// shiftLimitChain moves switches, buffer and structure of one end inward, from where they
// were built. Ends that would cross meet where the other buffer is.
func shiftLimitChain(s *Station, e fault.Edge) {
	axis := e.Target().Axis
	s.field.shifted[axis][e.Target().End] = quantity.Angle(s.sum(e, "inward"))
	chain := s.set.Plant.Axes[axis].Limits
	by := s.field.shifted[axis]
	by[plant.Lower] = min(by[plant.Lower], chain.Buffer[plant.Upper]-chain.Buffer[plant.Lower])
	by[plant.Upper] = min(by[plant.Upper],
		chain.Buffer[plant.Upper]-chain.Buffer[plant.Lower]-by[plant.Lower])
	for _, at := range []*[2]quantity.Angle{&chain.Software, &chain.PreLimit, &chain.FinalLimit,
		&chain.Buffer, &chain.Structure} {
		at[plant.Lower] += by[plant.Lower]
		at[plant.Upper] -= by[plant.Upper]
	}
	chain.Buffer[plant.Upper] = max(chain.Buffer[plant.Upper], chain.Buffer[plant.Lower])
	chain.Structure[plant.Upper] = max(chain.Structure[plant.Upper], chain.Buffer[plant.Upper])
	if err := s.Plant.SetLimits(plant.Axis(axis), chain); err != nil {
		panic("station: a shifted chain stays in order: " + err.Error())
	}
	s.limits[axis] = chain
	s.field.readAt[axis] = math.NaN()
}
