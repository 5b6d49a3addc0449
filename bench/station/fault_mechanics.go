package station

import (
	"fmt"
	"math"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// mechanicalFaults are of the gear, and of what pushes an axis from outside.
func mechanicalFaults() []faultKind {
	return []faultKind{
		{
			Kind: fault.Kind{Name: "external_torque", Place: fault.PlacePhysics, On: onAxis(),
				Does: "a constant torque, as of a steady wind, pushes the axis",
				Parameters: []fault.Parameter{{Name: "torque", Does: "positive towards the upper end",
					Dimension: quantity.DimTorque, Lowest: "-100 MN m", Highest: "100 MN m",
					Example: "30 kN m", Idle: "0 N m"}}},
			needs: bearableTorque,
			act: func(s *Station, e fault.Edge) {
				f, axis := &s.field, e.Target().Axis
				f.pushed[axis] = s.sum(e, "torque")
				f.external[axis] = f.still[axis] + f.pushed[axis]
			},
		},
		{
			Kind: fault.Kind{Name: "gear_changed", Place: fault.PlacePhysics, On: onAxis(),
				Does: "the motors turn more or less often than the controller thinks",
				Parameters: []fault.Parameter{{Name: "ratio",
					Does:      "true turns over believed turns",
					Dimension: quantity.DimRatio, Lowest: "0.1", Highest: "10", Example: "1.5",
					Idle: "1"}}},
			act: func(s *Station, e fault.Edge) {
				s.field.ratio[e.Target().Axis] = either(e.Began, e.Value("ratio"), 1)
				s.gearUp()
			},
		},
		{
			Kind: fault.Kind{Name: "direction_changed", Place: fault.PlacePhysics,
				On: onMotor(), Does: "the motor turns the other way, torque and feedback alike"},
			act: func(s *Station, e fault.Edge) {
				s.field.reversed[e.Target().Motor] = e.Began
				s.gearUp()
			},
		},
	}
}

// gearUp joins ratio and direction to what a motor makes of the axis's motion.
func (s *Station) gearUp() {
	for m, axis := range plant.MotorAxis {
		s.field.gearing[m] = s.field.ratio[axis]
		if s.field.reversed[m] {
			s.field.gearing[m] = -s.field.gearing[m]
		}
	}
}

// torqueMost is how many times the peak torque of all its motors an axis may be pushed
// with from outside; beyond that something else breaks than what is tried.
const torqueMost = 10

func bearableTorque(p *Parameters, f fault.Fault) error {
	axis, torque := plant.Axis(f.Target().Axis), quantity.Torque(f.Value("torque"))
	first, count := axis.Motors()
	most := quantity.Torque(0)
	for m := first; m < first+count; m++ {
		most += torqueMost * p.Drives[m].PeakTorque
	}
	if math.Abs(float64(torque)) > float64(most) {
		return fmt.Errorf("%v on %s is more than %d times what its motors can do, %v", torque,
			axis, torqueMost, most)
	}
	return nil
}
