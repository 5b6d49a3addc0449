package station

import (
	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/interlock"
)

// brakeFaults are of brakes on the motor shafts, and of their feedback.
func brakeFaults() []faultKind {
	share := fault.Parameter{Name: "torque", Does: "share of the brake's torque",
		Dimension: quantity.DimRatio, Lowest: "0 %", Highest: "100 %"}
	left, rubbing := share, share
	left.Default, rubbing.Default = "80 %", "20 %"
	left.Idle, rubbing.Idle = "100 %", "0 %"
	return []faultKind{
		brakeFault("brake_late", "the brake closes later than its engage delay",
			func(s *Station, e fault.Edge) {
				s.Plant.Faults.BrakeLate[e.Target().Motor] = either(e.Began, e.Span("by"), 0)
			},
			fault.Parameter{Name: "by", Does: "how much later", Dimension: quantity.DimSpan,
				Default: "200 ms", Lowest: "0 s", Highest: "24 h", Idle: "0 s"}),
		brakeFault("brake_worn", "the closed brake has only a share of its torque",
			func(s *Station, e fault.Edge) {
				s.Plant.Faults.BrakeScale[e.Target().Motor] = either(e.Began, e.Value("torque"), 1)
			}, left),
		brakeFault("brake_dragging", "the released brake keeps a share of its torque",
			func(s *Station, e fault.Edge) {
				m := e.Target().Motor
				s.Plant.Faults.BrakeDrag[m] = either(e.Began, e.Value("torque")*s.set.brakeTorque(m), 0)
			}, rubbing),
		brakeFault("brake_stuck_open", "the brake never closes", func(s *Station, e fault.Edge) {
			s.Plant.Faults.BrakeStuckOpen[e.Target().Motor] = e.Began
		}),
		brakeFault("brake_stuck_set", "the brake never opens", func(s *Station, e fault.Edge) {
			s.Plant.Faults.BrakeStuckSet[e.Target().Motor] = e.Began
		}),
		{
			Kind: fault.Kind{Name: "brake_feedback_stuck", Place: fault.PlaceDevice,
				On: onMotor(), Does: "the brake's feedback keeps one state",
				Parameters: []fault.Parameter{{Name: "at", Does: "the state reported",
					Choices: []string{"released", "set"}, Example: "released"}}},
			needs: func(p *Parameters, f fault.Fault) error {
				if err := aBrake(p, f); err != nil {
					return err
				}
				return p.needReport(Device{Role: RoleInterlock}, brakeFeedbackOf(f.Target().Name))
			},
			act: func(s *Station, e fault.Edge) {
				s.Interlock.Faults.BrakeFeedback[e.Target().Motor] =
					either(e.Began, stuckAt(e.Value("at")), interlock.Free)
			},
		},
	}
}

func brakeFault(
	name, does string, act func(*Station, fault.Edge), parameters ...fault.Parameter,
) faultKind {
	return faultKind{Kind: fault.Kind{Name: name, Place: fault.PlacePhysics, On: onMotor(),
		Does: does, Parameters: parameters}, needs: aBrake, act: act}
}

func aBrake(p *Parameters, f fault.Fault) error { return p.needBrake(f.Target().Motor) }

func (p *Parameters) needBrake(motor int) error {
	if p.brakeTorque(motor) == 0 {
		return p.lacks("brake on motor " + plant.MotorNames[motor])
	}
	return nil
}

// brakeTorque is that of a sound brake, N m; 0 without a brake.
func (p *Parameters) brakeTorque(motor int) float64 {
	axis := plant.MotorAxis[motor]
	first, _ := axis.Motors()
	return float64(p.Plant.Axes[axis].Motors[motor-first].BrakeTorque)
}
