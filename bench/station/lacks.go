package station

import (
	"fmt"
	"math"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// torqueMost is how many times the peak torque of all its motors an axis may be pushed
// with from outside; beyond that something else breaks than what is tried.
const torqueMost = 10

// Refuses tells why a fault cannot be on a station: it lacks what the fault is about, or
// the figure is none that its antenna could meet. Nil is no such reason.
func (p *Parameters) Refuses(effect fault.Effect) error {
	switch e := effect.(type) {
	case fault.SecondHeadOffset:
		return p.wantsSecondHead(e.Axis)
	case fault.SecondHeadFrozen:
		return p.wantsSecondHead(e.Axis)
	case fault.SecondHeadAlarm:
		return p.wantsSecondHead(e.Axis)
	case fault.MastSilent, fault.MastFrozen, fault.MastInvalid, fault.MastUnit, fault.MastSpike:
		if p.Seat(RoleMast, 0) == nil {
			return p.lacks("weather mast on its network")
		}
	case fault.EnablingReleased:
		if !p.Interlock.EnablingDevice {
			return p.lacks("enabling device")
		}
	case fault.ExternalTorque:
		return p.wantsTorque(e)
	case fault.LimitChainShift:
		return p.wantsRoom(e)
	case fault.WindConstant:
		return p.wantsWind(e.Speed)
	case fault.WindGusts:
		return p.wantsWind(e.Mean)
	}
	return nil
}

func (p *Parameters) lacks(what string) error {
	return fmt.Errorf("station %s has no %s", p.Name, what)
}

func (p *Parameters) wantsSecondHead(axis int) error {
	if !p.Encoders[axis].SecondHead {
		return p.lacks("second read head on " + plant.AxisNames[axis])
	}
	return nil
}

func (p *Parameters) wantsTorque(e fault.ExternalTorque) error {
	first, count := plant.Axis(e.Axis).Motors()
	most := quantity.Torque(0)
	for m := first; m < first+count; m++ {
		most += torqueMost * p.Drives[m].PeakTorque
	}
	if math.Abs(float64(e.Torque)) > float64(most) {
		return fmt.Errorf("%v on %s is more than %d times what its motors can do, %v", e.Torque,
			plant.AxisNames[e.Axis], torqueMost, most)
	}
	return nil
}

// wantsRoom keeps the limit chain of an end on its own side of the travel.
func (p *Parameters) wantsRoom(e fault.LimitChainShift) error {
	soft := p.Plant.Axes[e.Axis].Limits.Software
	if half := (soft[plant.Upper] - soft[plant.Lower]) / 2; e.Inward >= half {
		return fmt.Errorf("%v further in is beyond the middle of the travel of %s, %v away", e.Inward,
			plant.AxisNames[e.Axis], half)
	}
	return nil
}

func (p *Parameters) wantsWind(mean quantity.Speed) error {
	if mean > p.Survival {
		return fmt.Errorf("a mean of %v is more than the antenna is built to survive, %v", mean,
			p.Survival)
	}
	return nil
}
