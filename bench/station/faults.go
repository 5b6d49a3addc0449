package station

import (
	"fmt"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/emulators/interlock"
)

// carryOut maps the faults that begin or end at this step to the fields that
// plant, devices and links have for them.
func (s *Station) carryOut(now time.Duration) {
	state := s.Plant.State()
	edges := s.plan.Active(now, fault.Motion{Position: &state.Position, Rate: &state.Rate})
	for _, e := range edges {
		s.apply(e.Fault.Effect, e.Began, now)
		if s.watch != nil {
			what := "ends"
			if e.Began {
				what = "begins"
			}
			s.watch.to.Mark(now, record.Fault, e.Fault.Name, e.Fault.Target, what)
		}
	}
}

// Plan adds a fault while the station runs.
func (s *Station) Plan(e fault.Entry) (fault.ID, error) { return s.plan.Add(e) }

// Remove ends a fault at the next step.
func (s *Station) Remove(id fault.ID) { s.plan.Remove(id) }

// apply is the explicit list of what each effect means here.
func (s *Station) apply(effect fault.Effect, on bool, now time.Duration) {
	switch e := effect.(type) {
	case fault.LimitSwitch:
		s.breakSwitch(e, on)
	case fault.LimitChainShift:
		s.shiftChain(e, on)
	case fault.BrakeLate:
		s.Plant.Faults.BrakeLate[e.Motor] = either(on, e.By, 0)
	case fault.BrakeWorn:
		s.Plant.Faults.BrakeScale[e.Motor] = either(on, float64(e.Torque), 1)
	case fault.BrakeDragging:
		full := float64(s.set.Plant.Axes[plant.MotorAxis[e.Motor]].Motors[0].BrakeTorque)
		s.Plant.Faults.BrakeDrag[e.Motor] = either(on, float64(e.Torque)*full, 0)
	case fault.ExternalTorque:
		s.field.external[e.Axis] += either(on, float64(e.Torque), -float64(e.Torque))
	case fault.GearChanged:
		first, count := plant.Axis(e.Axis).Motors()
		for m := first; m < first+count; m++ {
			s.field.gearing[m] = either(on, float64(e.Ratio), 1)
		}
	case fault.DirectionChanged:
		s.field.gearing[e.Motor] = either(on, -1.0, 1)
	case fault.SupplyLost:
		s.field.supplyLost = on
	case fault.DriveSupplyLost:
		s.field.driveDead[e.Motor] = on
	case fault.EmergencyStopWelded:
		s.Interlock.Faults.EmergencyStopWelded[e.Channel] = on
	case fault.BrakeFeedbackStuck:
		s.Interlock.Faults.BrakeFeedback[e.Motor] = either(on, e.At, interlock.Free)
	case fault.DriveTrip:
		if on {
			s.Drives[e.Motor].Trip(e.Code)
		}
	case fault.DriveWatchdogIgnored:
		s.Drives[e.Motor].Faults.WatchdogDead = on
	case fault.DriveRunaway:
		s.Drives[e.Motor].Faults.Runaway = either(on, e.Torque, 0)
	default:
		if !s.misleadEncoder(effect, on, now) && !s.impair(effect, on) {
			panic(fmt.Sprintf("station: effect %T has no meaning here", effect))
		}
	}
}

func either[T any](on bool, then, otherwise T) T {
	if on {
		return then
	}
	return otherwise
}

func (s *Station) breakSwitch(e fault.LimitSwitch, on bool) {
	how := either(on, e.How, interlock.SwitchSound)
	if e.Switch == fault.PreLimit {
		s.Interlock.Faults.PreLimit[e.Axis][e.End] = how
		return
	}
	s.Interlock.Faults.FinalLimit[e.Axis][e.End] = how
}

// shiftChain moves switches, buffer and structure of one end inward.
func (s *Station) shiftChain(e fault.LimitChainShift, on bool) {
	chain := &s.set.Plant.Axes[e.Axis].Limits
	by := either(on, e.Inward, -e.Inward)
	if e.End == plant.Upper {
		by = -by
	}
	for _, at := range []*[2]quantity.Angle{&chain.Software, &chain.PreLimit, &chain.FinalLimit,
		&chain.Buffer, &chain.Structure} {
		at[e.End] += by
	}
	if err := s.Plant.SetLimits(plant.Axis(e.Axis), *chain); err != nil {
		panic("station: a shifted chain stays in order: " + err.Error())
	}
}

// misleadEncoder maps what encoders tell wrongly; false for any other effect.
func (s *Station) misleadEncoder(effect fault.Effect, on bool, now time.Duration) bool {
	switch e := effect.(type) {
	case fault.EncoderOffset:
		s.Encoders[e.Axis].Faults.Offset += either(on, e.By, -e.By)
	case fault.EncoderStepping:
		s.jump(e, on, now)
	case fault.EncoderFrozen:
		s.Encoders[e.Axis].Faults.FrozenPosition = on
	case fault.EncoderDrift:
		s.Encoders[e.Axis].Faults.Drift = either(on, e.Rate, 0)
	case fault.EncoderAlarm:
		s.Encoders[e.Axis].Faults.AlarmBits = either(on, e.Bits, 0)
	case fault.EncoderReversed:
		s.Encoders[e.Axis].Faults.Reversed = on
	default:
		return false
	}
	return true
}

// jump adds a step to what an encoder tells, again and again where it says so.
func (s *Station) jump(e fault.EncoderStepping, on bool, now time.Duration) {
	f := &s.Encoders[e.Axis].Faults
	s.field.jumping[e.Axis] = on && e.Every > 0
	if !on {
		f.Offset -= s.field.jumped[e.Axis]
		s.field.jumped[e.Axis] = 0
		return
	}
	f.Offset += e.By
	s.field.jumped[e.Axis] += e.By
	if e.Every == 0 {
		return
	}
	s.At(now+e.Every, func(now time.Duration) {
		if s.field.jumping[e.Axis] {
			s.jump(e, true, now)
		}
	})
}

// impair maps what happens on the wire; false for any other effect.
func (s *Station) impair(effect fault.Effect, on bool) bool {
	switch e := effect.(type) {
	case fault.Silence:
		s.wire(e.Device).Change(func(c *link.Conditions) {
			c.ToDevice.Silent = on && e.Direction.Includes(fault.ToDevice)
			c.ToController.Silent = on && e.Direction.Includes(fault.ToController)
		})
	case fault.Delay:
		s.wire(e.Device).Change(func(c *link.Conditions) {
			delay(&c.ToDevice, e, on && e.Direction.Includes(fault.ToDevice))
			delay(&c.ToController, e, on && e.Direction.Includes(fault.ToController))
		})
	case fault.Refuse:
		s.wire(e.Device).Change(func(c *link.Conditions) { c.Refuse = on })
	case fault.PulledCable:
		s.wire(e.Device).Change(func(c *link.Conditions) { c.Pulled = on })
	case fault.Reset:
		if on {
			s.wire(e.Device).Reset()
		}
	default:
		return false
	}
	return true
}

func delay(way *link.Impairment, e fault.Delay, on bool) {
	way.Delay, way.Jitter = either(on, e.By, 0), either(on, e.Jitter, 0)
}
