package station

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
)

// field is the state of what stands between the devices: what faults and weather
// change, healthy at New.
type field struct {
	external   [plant.AxisCount]float64 // torque of wind, unbalance and what pushes, N m
	still      [plant.AxisCount]float64 // of it, by wind and unbalance
	pushed     [plant.AxisCount]float64 // of it, by faults
	ratio      [plant.AxisCount]float64 // of the gear: true turns over believed ones
	reversed   [plant.MotorCount]bool
	gearing    [plant.MotorCount]float64 // both together
	shifted    [plant.AxisCount][2]quantity.Angle
	supplyLost bool
	driveDead  [plant.MotorCount]bool
	offset     [plant.AxisCount]quantity.Angle // of an encoder, by encoder_offset
	jumping    []*stepping                     // that stand
	readAt     [plant.MainAxes]float64         // where the switches were last read
}

// driving is what the drives were at their last step, for whoever looks at them
// at every step of the plant.
type driving struct {
	demanded, sto, powered, ready [plant.MotorCount]bool
	state                         [plant.MotorCount]cia402.State
}

// readField takes in the switches and brake contacts as they are at this step.
// What has not changed is not written again.
func (s *Station) readField() {
	state := s.Plant.State()
	for a := range s.field.readAt {
		at := state.Position[a]
		if at == s.field.readAt[a] {
			continue
		}
		s.field.readAt[a] = at
		seen := s.limits[a].Actuated(quantity.Angle(at))
		if seen.PreLimit != s.unit.PreLimit[a] || seen.FinalLimit != s.unit.FinalLimit[a] {
			s.unit.PreLimit[a], s.unit.FinalLimit[a] = seen.PreLimit, seen.FinalLimit
		}
	}
	if s.unit.BrakeFeedback != state.BrakeSet {
		s.unit.BrakeFeedback = state.BrakeSet
	}
	if s.unit.SupplyLost != s.field.supplyLost {
		s.unit.SupplyLost = s.field.supplyLost
	}
	for a := range s.standstill {
		s.unit.Standstill[a] = s.standstill[a].reached
	}
}

// enableChain is the wiring of the stop chain: closed means that the axis may have
// torque. The relay's delayed contact, the final limits or their override, and
// the local isolator stand in series.
func (s *Station) enableChain(a plant.Axis) bool {
	u, w := s.Interlock, &s.set.Wiring
	if !u.DelayedContact || (w.Isolator[a] && u.PanelInputs().Isolator[a]) {
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
	s.in.External = s.field.external
	s.safe = s.safeRequests()
	for a := range plant.Axis(plant.AxisCount) {
		chain := s.enableChain(a)
		demanded := !chain || !s.Interlock.Enable[a]
		first, count := a.Motors()
		for m := first; m < first+count; m++ {
			s.stepOne(m, demanded, now)
		}
		s.feedBrakes(a, chain)
	}
}

// feedBrakes powers the brake coils of an axis as its enable chain, drives and the interlock
// unit allow.
func (s *Station) feedBrakes(a plant.Axis, chain bool) {
	first, count := a.Motors()
	for m := first; m < first+count; m++ {
		s.in.BrakeCoil[m] = chain && s.driving.ready[m] && s.Interlock.BrakeRelease[m]
	}
}

func (s *Station) stepDrive(m int, demanded bool, now time.Duration) {
	state, d, g := s.Plant.State(), s.Drives[m], s.field.gearing[m]
	supplied, voltage := s.supplied(m)
	d.Step(now, drive.Input{
		MotorRate:     g * state.MotorRate[m],
		MotorPosition: g * state.MotorPosition[m],
		STO:           demanded,
		Supplied:      supplied,
		Supply:        voltage,
		Safe:          s.safe[plant.MotorAxis[m]],
		PartnerOff:    s.partnerOff(m),
	})
	s.in.MotorTorque[m] = g * d.Torque()
	s.noteDrive(m, demanded)
}

func (s *Station) noteDrive(m int, demanded bool) {
	d, is := s.Drives[m], &s.driving
	is.demanded[m], is.sto[m], is.powered[m] = demanded, d.STO(), d.PowerOn()
	is.ready[m], is.state[m] = d.Ready(), d.State()
}
