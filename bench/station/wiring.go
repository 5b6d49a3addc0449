package station

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/drive"
)

// field is the state of what stands between the devices: what faults and weather
// change, healthy at New.
type field struct {
	external   [plant.AxisCount]float64  // torque of wind and unbalance, N m
	gearing    [plant.MotorCount]float64 // motor turns against what the drive takes for true
	supplyLost bool
	driveDead  [plant.MotorCount]bool
	jumped     [plant.AxisCount]quantity.Angle // by encoder_stepping, so far
	jumping    [plant.AxisCount]bool
}

// readField takes in the switches and brake contacts as they are at this step.
func (s *Station) readField() {
	state := s.Plant.State()
	for a := range plant.Axis(plant.MainAxes) {
		seen := s.set.Plant.Axes[a].Limits.Actuated(quantity.Angle(state.Position[a]))
		s.unit.PreLimit[a], s.unit.FinalLimit[a] = seen.PreLimit, seen.FinalLimit
	}
	s.unit.BrakeFeedback = state.BrakeSet
	s.unit.SupplyLost = s.field.supplyLost
	if s.watch != nil {
		for a := range s.unit.Standstill {
			s.unit.Standstill[a] = s.watch.still[a].told
		}
	}
}

// enableChain is the wiring of DESIGN 6.2: closed means that the axis may have
// torque. The relay's delayed contact, the final limits or their override, and
// the local isolator stand in series.
func (s *Station) enableChain(a plant.Axis) bool {
	u, w := s.Interlock, &s.set.Wiring
	if !u.DelayedContact || (w.Isolator[a] && u.Panel.Isolator[a]) {
		return false
	}
	if !w.FinalLimit[a] {
		return true
	}
	for end := range 2 {
		if u.FinalLimit[a][end] && !u.Overridden[a][end] {
			return false
		}
	}
	return true
}

// stepDrives carries the drives to now and sets what acts on the plant in this
// step: their torque and the brake coils.
func (s *Station) stepDrives(now time.Duration) {
	state := s.Plant.State()
	s.in.External = s.field.external
	for m, d := range s.Drives {
		a := plant.MotorAxis[m]
		chain := s.enableChain(a)
		g := s.field.gearing[m]
		d.Step(now, drive.Input{
			MotorRate:     g * state.MotorRate[m],
			MotorPosition: g * state.MotorPosition[m],
			STO:           !chain || !s.Interlock.Enable[a],
			Supplied:      !s.field.supplyLost && !s.field.driveDead[m],
		})
		s.in.MotorTorque[m] = g * d.Torque()
		s.in.BrakeCoil[m] = chain && d.Ready() && s.Interlock.BrakeRelease[m]
	}
}
