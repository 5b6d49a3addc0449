package fault

import "haltmark/bench/quantity"

// liars are further faults of encoders; the second read head has its own.
func liars() []Kind { return append(lies(), secondHeads()...) }

func lies() []Kind {
	on := func(name, does string, effect func(t target, v []float64) Effect,
		parameters ...Parameter) Kind {
		return Kind{Name: name, Place: PlaceDevice, On: OnAxis, Does: does,
			Parameters: parameters, effect: effect}
	}
	late := Parameter{Name: "by", Does: "age of what is told", Dimension: quantity.DimSpan,
		Default: "50 ms", Lowest: "0 s", Highest: "1 s"}
	torn := late
	torn.Does, torn.Default = "how much older the upper 16 bits are", "20 ms"
	return []Kind{
		on("encoder_eccentric", "the disc sits off its centre: an error once a turn",
			func(t target, v []float64) Effect {
				return EncoderEccentric{t.axis, quantity.Angle(v[0]), quantity.Angle(v[1])}
			},
			Parameter{Name: "amplitude", Does: "largest error", Dimension: quantity.DimAngle,
				Lowest: "0 deg", Highest: "180 deg", Example: "0.05 deg"},
			Parameter{Name: "phase", Does: "axis angle at which it is nought and grows",
				Dimension: quantity.DimAngle, Default: "0 deg"}),
		on("encoder_late", "the position told is an old one",
			func(t target, v []float64) Effect { return EncoderLate{t.axis, span(v[0])} }, late),
		on("encoder_noise", "the position told scatters under a good flag",
			func(t target, v []float64) Effect {
				return EncoderNoise{t.axis, quantity.Angle(v[0])}
			},
			Parameter{Name: "within", Does: "largest error either way",
				Dimension: quantity.DimAngle, Lowest: "0 deg", Highest: "360 deg",
				Example: "0.2 deg"}),
		on("encoder_bit_stuck", "one bit of the position no longer follows",
			func(t target, v []float64) Effect {
				return EncoderBitStuck{t.axis, uint8(v[0]), v[1] == 1}
			},
			Parameter{Name: "bit", Does: "0 is one count", Whole: true, Lowest: "0",
				Highest: "31", Example: "16"},
			Parameter{Name: "at", Does: "the level it keeps", Choices: []string{"0", "1"},
				Default: "0"}),
		on("encoder_hung", "everything told stands still, the life counter too",
			func(t target, _ []float64) Effect { return EncoderHung{t.axis} }),
		on("encoder_bad_data", "any position is told under a good flag",
			func(t target, _ []float64) Effect { return EncoderBadData{t.axis} }),
		on("encoder_warning", "the encoder raises warnings while its data are good",
			func(t target, v []float64) Effect { return EncoderWarning{t.axis, uint16(v[0])} },
			Parameter{Name: "bits", Does: "warning bits, bit 4 is the battery", Whole: true,
				Default: "0x0010", Lowest: "1"}),
		on("encoder_torn", "the position is read in two words with an update between them",
			func(t target, v []float64) Effect { return EncoderTorn{t.axis, span(v[0])} }, torn),
	}
}

func secondHeads() []Kind {
	return []Kind{
		{Name: "second_head_offset", Place: PlaceDevice, On: OnAxis,
			Does: "what the second read head tells, where there is one, is off by a constant",
			Parameters: []Parameter{{Name: "by", Does: "angle added",
				Dimension: quantity.DimAngle, Example: "5 deg"}},
			effect: func(t target, v []float64) Effect {
				return SecondHeadOffset{t.axis, quantity.Angle(v[0])}
			}},
		{Name: "second_head_frozen", Place: PlaceDevice, On: OnAxis,
			Does:   "what the second read head tells, where there is one, no longer changes",
			effect: func(t target, _ []float64) Effect { return SecondHeadFrozen{t.axis} }},
		{Name: "second_head_alarm", Place: PlaceDevice, On: OnAxis,
			Does:   "the second read head, where there is one, raises its alarm with good data",
			effect: func(t target, _ []float64) Effect { return SecondHeadAlarm{t.axis} }},
	}
}
