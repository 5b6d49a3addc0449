package station

import (
	"fmt"
	"math"
	"slices"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/emulators/interlock"
)

// carryOut maps the faults that begin or end at this step to the fields that
// plant, devices and links have for them, and tells whether there were any.
func (s *Station) carryOut(now time.Duration) bool {
	state := s.Plant.State()
	edges := s.plan.Active(now, fault.Motion{Position: &state.Position, Rate: &state.Rate})
	for _, e := range edges {
		s.apply(e.Fault.Effect, e.Began, now)
		what := "begins"
		if !e.Began {
			what = "ends"
			s.restore(now)
		}
		if s.watch != nil {
			for _, set := range e.Fault.Parameters {
				what += ", " + set.Name + " " + set.Value
			}
			if e.At-e.Due >= s.step { // meant for an earlier step than it acted in
				what += ", due " + e.Due.String()
			}
			s.watch.to.Mark(now, record.Fault, e.Fault.Name, e.Fault.Target, what)
		}
	}
	return len(edges) > 0
}

// restore applies what still stands once more, as the end of one fault may have
// cleared a field that it shares with another. What adds up is left alone.
func (s *Station) restore(now time.Duration) {
	s.standing = s.plan.Standing(s.standing[:0])
	for _, f := range s.standing {
		switch f.Effect.(type) {
		case fault.ExternalTorque, fault.LimitChainShift, fault.EncoderOffset,
			fault.EncoderStepping, fault.DriveTrip, fault.Reset, fault.HalfOpen,
			fault.WindConstant, fault.WindGusts, fault.GustStep, fault.SupplyDip:
		default:
			s.apply(f.Effect, true, now)
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
		s.Plant.Faults.BrakeDrag[e.Motor] = either(on, float64(e.Torque)*s.brakeTorque(e.Motor), 0)
	case fault.ExternalTorque:
		s.field.pushed[e.Axis] += either(on, float64(e.Torque), -float64(e.Torque))
		s.field.external[e.Axis] = s.field.still[e.Axis] + s.field.pushed[e.Axis]
	case fault.GearChanged:
		s.field.ratio[e.Axis] = either(on, float64(e.Ratio), 1)
		s.gearUp()
	case fault.DirectionChanged:
		s.field.reversed[e.Motor] = on
		s.gearUp()
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
		if !s.misleadEncoder(effect, on, now) && !s.spoilEncoder(effect, on, now) &&
			!s.misuse(effect, on) && !s.spoilMachine(effect, on) && !s.impair(effect, on) &&
			!s.spoil(effect, on) && !s.changeWeather(effect, on, now) &&
			!s.dipSupply(effect, on, now) {
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

// brakeTorque is that of a sound brake, N m.
func (s *Station) brakeTorque(motor int) float64 {
	axis := plant.MotorAxis[motor]
	first, _ := axis.Motors()
	return float64(s.set.Plant.Axes[axis].Motors[motor-first].BrakeTorque)
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

// shiftChain moves switches, buffer and structure of one end inward, from where
// they were built. Ends that would cross meet where the other buffer is.
func (s *Station) shiftChain(e fault.LimitChainShift, on bool) {
	s.field.shifted[e.Axis][e.End] += either(on, e.Inward, -e.Inward)
	chain := s.set.Plant.Axes[e.Axis].Limits
	by := s.field.shifted[e.Axis]
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
	if err := s.Plant.SetLimits(plant.Axis(e.Axis), chain); err != nil {
		panic("station: a shifted chain stays in order: " + err.Error())
	}
	s.limits[e.Axis] = chain
	s.field.readAt[e.Axis] = math.NaN()
}

// misleadEncoder maps what encoders tell wrongly; false for any other effect. An
// encoder tells it from this very step on.
func (s *Station) misleadEncoder(effect fault.Effect, on bool, now time.Duration) bool {
	axis := 0
	switch e := effect.(type) {
	case fault.EncoderOffset:
		axis = e.Axis
		s.field.offset[axis] += either(on, e.By, -e.By)
		s.offsetEncoder(axis)
	case fault.EncoderStepping:
		s.jump(e, on, now)
		return true
	case fault.EncoderFrozen:
		axis = e.Axis
		s.Encoders[axis].Faults.FrozenPosition = on
	case fault.EncoderDrift:
		axis = e.Axis
		s.Encoders[axis].Faults.Drift = either(on, e.Rate, 0)
	case fault.EncoderAlarm:
		axis = e.Axis
		s.Encoders[axis].Faults.AlarmBits = either(on, e.Bits, 0)
	case fault.EncoderReversed:
		axis = e.Axis
		s.Encoders[axis].Faults.Reversed = on
	default:
		return false
	}
	s.stepEncoder(axis, now)
	return true
}

func (s *Station) stepEncoder(axis int, now time.Duration) {
	s.Encoders[axis].Step(now, s.Plant.State().Position[axis])
}

func (s *Station) offsetEncoder(axis int) {
	told := s.field.offset[axis]
	for _, one := range s.field.jumping {
		if one.Axis == axis {
			told += one.jumped
		}
	}
	s.Encoders[axis].Faults.Offset = told
}

// stepping is an encoder's jumps so far.
type stepping struct {
	fault.EncoderStepping
	jumped quantity.Angle
	over   bool
}

// jump begins or ends a stepping.
func (s *Station) jump(e fault.EncoderStepping, on bool, now time.Duration) {
	if on {
		one := &stepping{EncoderStepping: e}
		s.field.jumping = append(s.field.jumping, one)
		s.jumpOn(one, now)
		return
	}
	i := slices.IndexFunc(s.field.jumping, func(one *stepping) bool {
		return one.EncoderStepping == e
	})
	s.field.jumping[i].over = true
	s.field.jumping = slices.Delete(s.field.jumping, i, i+1)
	s.offsetEncoder(e.Axis)
	s.stepEncoder(e.Axis, now)
}

// jumpOn adds a step to what an encoder tells, again and again where it says so.
func (s *Station) jumpOn(one *stepping, now time.Duration) {
	if one.over {
		return
	}
	one.jumped += one.By
	s.offsetEncoder(one.Axis)
	s.stepEncoder(one.Axis, now)
	if one.Every > 0 {
		s.At(now+one.Every, func(now time.Duration) { s.jumpOn(one, now) })
	}
}
