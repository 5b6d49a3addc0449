package station

import (
	"fmt"
	"slices"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/encoder"
)

// encoderFaults are of position encoders, which report them from the step of their
// beginning on.
func encoderFaults() []faultKind { return append(positionFaults(), encoderWordFaults()...) }

// angleAdded is at most a turn either way.
func angleAdded() fault.Parameter {
	return fault.Parameter{Name: "by", Does: "angle added", Dimension: quantity.DimAngle,
		Lowest: "-360 deg", Highest: "360 deg", Example: "5 deg", Idle: "0 deg"}
}

// positionFaults are of where an encoder says that its axis stands.
func positionFaults() []faultKind {
	by := angleAdded()
	return []faultKind{
		{
			Kind: fault.Kind{Name: "encoder_offset", Place: fault.PlaceDevice, On: onAxis(),
				Does:       "the position reported is off by a constant",
				Parameters: []fault.Parameter{by}},
			act: offsetEncoder,
		},
		{
			Kind: fault.Kind{Name: "encoder_stepping", Place: fault.PlaceDevice, On: onAxis(),
				Does: "the position reported jumps, once or again and again",
				Parameters: []fault.Parameter{by, {Name: "every",
					Does:      "time between jumps; 0 s is one jump",
					Dimension: quantity.DimSpan, Default: "0 s", Lowest: "0 s", Highest: "24 h"}}},
			act: jumpEncoder, adds: true,
		},
		encoderFault("encoder_frozen", "the position reported no longer changes",
			func(f *encoder.Faults, e fault.Edge) { f.FrozenPosition = e.Began }),
		encoderFault("encoder_drift", "the position reported walks away from the true one",
			func(f *encoder.Faults, e fault.Edge) {
				f.Drift = either(e.Began, quantity.Rate(e.Value("rate")), 0)
			}).with(fault.Parameter{Name: "rate", Does: "how fast", Dimension: quantity.DimRate,
			Lowest: "-90 deg/s", Highest: "90 deg/s", Example: "0.8 deg/s", Idle: "0 deg/s"}),
		encoderFault("encoder_reversed", "the encoder counts backwards",
			func(f *encoder.Faults, e fault.Edge) { f.Reversed = e.Began }),
		encoderFault("encoder_eccentric", "the disc sits off its centre: an error once a turn",
			func(f *encoder.Faults, e fault.Edge) {
				f.Eccentricity = either(e.Began, quantity.Angle(e.Value("amplitude")), 0)
				f.EccentricityPhase = either(e.Began, quantity.Angle(e.Value("phase")), 0)
			}).with(fault.Parameter{Name: "amplitude", Does: "largest error",
			Dimension: quantity.DimAngle, Lowest: "0 deg", Highest: "180 deg", Example: "0.05 deg",
			Idle: "0 deg"},
			fault.Parameter{Name: "phase", Does: "axis angle at which it is zero and grows",
				Dimension: quantity.DimAngle, Default: "0 deg", Lowest: "-360 deg", Highest: "360 deg"}),
		encoderFault("encoder_late", "the position reported is an old one",
			func(f *encoder.Faults, e fault.Edge) { f.Latency = either(e.Began, e.Span("by"), 0) }).
			with(fault.Parameter{Name: "by", Does: "age of what is reported",
				Dimension: quantity.DimSpan, Default: "50 ms", Lowest: "0 s", Highest: "1 s",
				Idle: "0 s"}),
		encoderFault("encoder_noise", "the position reported scatters under a good flag",
			func(f *encoder.Faults, e fault.Edge) {
				f.Scatter = either(e.Began, quantity.Angle(e.Value("within")), 0)
			}).with(fault.Parameter{Name: "within", Does: "largest error either way",
			Dimension: quantity.DimAngle, Lowest: "0 deg", Highest: "360 deg", Example: "0.2 deg",
			Idle: "0 deg"}),
	}
}

// encoderWordFaults are of the words in which an encoder says so.
func encoderWordFaults() []faultKind {
	return []faultKind{
		encoderFault("encoder_alarm", "the encoder raises its alarm while its data are good",
			func(f *encoder.Faults, e fault.Edge) {
				f.AlarmBits = either(e.Began, uint16(e.Value("bits")), 0)
			}).with(fault.Parameter{Name: "bits", Does: "alarm bits, bit 0 is position error",
			Whole: true, Default: "0x0001", Lowest: "1"}).need(encoderReport("alarms")),
		encoderFault("encoder_bit_stuck", "one bit of the position no longer follows",
			func(f *encoder.Faults, e fault.Edge) {
				stuck := encoder.StuckBit{On: true, Number: uint8(e.Value("bit")),
					High: e.Value("at") == 1}
				f.StuckBit = either(e.Began, stuck, encoder.StuckBit{})
			}).with(fault.Parameter{Name: "bit", Does: "0 is one count", Whole: true, Lowest: "0",
			Highest: "31", Example: "16"},
			fault.Parameter{Name: "at", Does: "the level it keeps", Choices: []string{"0", "1"},
				Default: "0"}).
			need(func(p *Parameters, f fault.Fault) error {
				return p.needBit(f.Target().Axis, int(f.Value("bit")))
			}),
		encoderFault("encoder_hung", "everything reported stands still, the life counter too",
			func(f *encoder.Faults, e fault.Edge) { f.Frozen = e.Began }),
		encoderFault("encoder_bad_data", "any position is reported under a good flag",
			func(f *encoder.Faults, e fault.Edge) { f.BadData = e.Began }),
		encoderFault("encoder_warning", "the encoder raises warnings while its data are good",
			func(f *encoder.Faults, e fault.Edge) {
				f.WarningBits = either(e.Began, uint16(e.Value("bits")), 0)
			}).with(fault.Parameter{Name: "bits", Does: "warning bits, bit 4 is the battery",
			Whole: true, Default: "0x0010", Lowest: "1"}).need(encoderReport("warnings")),
		encoderFault("encoder_torn",
			"the position is read in two words with an update between them",
			func(f *encoder.Faults, e fault.Edge) { f.TornBy = either(e.Began, e.Span("by"), 0) }).
			with(fault.Parameter{Name: "by", Does: "how much older the upper 16 bits are",
				Dimension: quantity.DimSpan, Default: "20 ms", Lowest: "0 s", Highest: "1 s",
				Idle: "0 s"}).
			need(func(p *Parameters, f fault.Fault) error { return p.needBit(f.Target().Axis, 16) }),
	}
}

// encoderFault changes the faults of an axis's encoder.
func encoderFault(name, does string, set func(*encoder.Faults, fault.Edge)) faultKind {
	return faultKind{
		Kind: fault.Kind{Name: name, Place: fault.PlaceDevice, On: onAxis(), Does: does},
		act: func(s *Station, e fault.Edge) {
			set(&s.Encoders[e.Target().Axis].Faults, e)
			s.stepEncoder(e.Target().Axis, e.At)
		},
	}
}

func encoderReport(quantity string) func(*Parameters, fault.Fault) error {
	return func(p *Parameters, f fault.Fault) error {
		return p.needReport(Device{RoleEncoder, f.Target().Axis}, quantity)
	}
}

// needBit wants an encoder whose counts reach a bit; 0 is one count.
func (p *Parameters) needBit(axis, bit int) error {
	if most := p.Encoders[axis].TotalRange - 1; uint64(most)>>bit == 0 {
		return fmt.Errorf("the encoder of %s tells no more than %d counts, which have no bit %d",
			plant.AxisNames[axis], most, bit)
	}
	return nil
}

// secondHeadFaults are of the second read head of an encoder.
func secondHeadFaults() []faultKind {
	return []faultKind{
		secondHeadFault("second_head_offset", "second_position_value",
			"what the second read head reports is off by a constant",
			func(f *encoder.Faults, e fault.Edge) {
				f.Offset = either(e.Began, quantity.Angle(e.Value("by")), 0)
			}).with(angleAdded()),
		secondHeadFault("second_head_frozen", "second_position_value",
			"what the second read head reports no longer changes",
			func(f *encoder.Faults, e fault.Edge) { f.FrozenPosition = e.Began }),
		secondHeadFault("second_head_alarm", "second_alarms",
			"the second read head raises its alarm while its data are good",
			func(f *encoder.Faults, e fault.Edge) { f.Alarm = e.Began }),
	}
}

// secondHeadFault shows in the quantity reported.
func secondHeadFault(
	name, reported, does string, set func(*encoder.Faults, fault.Edge),
) faultKind {
	return faultKind{
		Kind: fault.Kind{Name: name, Place: fault.PlaceDevice, On: onAxis(), Does: does},
		needs: func(p *Parameters, f fault.Fault) error {
			if axis := f.Target().Axis; !p.Encoders[axis].SecondHead {
				return p.lacks("second read head on " + plant.AxisNames[axis])
			}
			return encoderReport(reported)(p, f)
		},
		act: func(s *Station, e fault.Edge) {
			set(&s.Encoders[e.Target().Axis].Second.Faults, e)
			s.stepEncoder(e.Target().Axis, e.At)
		},
	}
}

// sumOffsets joins the offsets of an encoder and its jumps so far.
func (s *Station) sumOffsets(axis int, now time.Duration) {
	all := s.field.offset[axis]
	for _, one := range s.field.jumping {
		if one.Target().Axis == axis {
			all += one.jumped
		}
	}
	s.Encoders[axis].Faults.Offset = all
	s.stepEncoder(axis, now)
}

func offsetEncoder(s *Station, e fault.Edge) {
	s.field.offset[e.Target().Axis] = quantity.Angle(s.sum(e, "by"))
	s.sumOffsets(e.Target().Axis, e.At)
}

// stepping is an encoder's jumps so far.
type stepping struct {
	fault.Edge
	jumped quantity.Angle
	over   bool
}

func jumpEncoder(s *Station, e fault.Edge) {
	if e.Began {
		one := &stepping{Edge: e}
		s.field.jumping = append(s.field.jumping, one)
		s.jump(one, e.At)
		return
	}
	i := slices.IndexFunc(s.field.jumping, func(one *stepping) bool { return one.ID == e.ID })
	s.field.jumping[i].over = true
	s.field.jumping = slices.Delete(s.field.jumping, i, i+1)
	s.sumOffsets(e.Target().Axis, e.At)
}

// jump adds a step to what an encoder reports, again and again where the fault says so.
func (s *Station) jump(one *stepping, now time.Duration) {
	if one.over {
		return
	}
	one.jumped += quantity.Angle(one.Value("by"))
	s.sumOffsets(one.Target().Axis, now)
	if every := one.Span("every"); every > 0 {
		s.At(now+every, func(now time.Duration) { s.jump(one, now) })
	}
}
