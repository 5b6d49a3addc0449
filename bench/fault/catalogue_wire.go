package fault

import "haltmark/bench/quantity"

// wayParameter is the direction of what is spoiled.
func wayParameter() Parameter {
	return Parameter{Name: "direction", Does: "which messages",
		Choices: []string{"both", "to_device", "to_controller"}, Default: "to_controller"}
}

// spoilings are what happens to messages one by one. Devices behind one address
// share it.
func spoilings() []Kind {
	one := func(name, does string, how Spoiling) Kind {
		on := OnDevice
		if how == TransactionsSwapped || how == TransactionRepeated || how == WrongUnit {
			on = OnPolled // lines of NMEA have neither
		}
		return Kind{Name: name, Place: PlaceWire, On: on, Does: does,
			Parameters: []Parameter{{Name: "probability", Does: "of it for each message",
				Dimension: quantity.DimRatio, Default: "100 %", Lowest: "0 %", Highest: "100 %"},
				wayParameter()},
			effect: func(t target, v []float64) Effect {
				return Spoiled{t.device, Direction(v[1]), how, quantity.Ratio(v[0])}
			}}
	}
	return []Kind{
		one("messages_lost", "messages are lost", Dropped),
		one("messages_repeated", "messages come twice", Repeated),
		one("messages_truncated", "messages lose their end", Truncated),
		one("messages_corrupted", "messages have one bit turned over", Corrupted),
		one("messages_merged", "messages wait for the next and come in one piece with it",
			Merged),
		one("answers_late", "messages wait for the next and come just before it: whoever takes "+
			"one for the answer to the last request stays behind for ever", Late),
		one("transactions_swapped", "two messages in turn carry each other's transaction "+
			"identifier", TransactionsSwapped),
		one("transaction_repeated", "messages carry the transaction identifier of the one before",
			TransactionRepeated),
		one("wrong_unit", "messages carry a unit identifier that is one too high", WrongUnit),
	}
}

func connections() []Kind {
	return []Kind{
		{Name: "slow_bytes", Place: PlaceWire, On: OnDevice, Does: "messages come byte by byte",
			Parameters: []Parameter{{Name: "every", Does: "time between two bytes",
				Dimension: quantity.DimSpan, Default: "2 ms", Lowest: "0 s", Highest: "1 h"},
				wayParameter()},
			effect: func(t target, v []float64) Effect {
				return SlowBytes{t.device, Direction(v[1]), span(v[0])}
			}},
		{Name: "half_open", Place: PlaceWire, On: OnDevice,
			Does:   "connections that stand go dead and nobody is told; new ones are sound",
			effect: func(t target, _ []float64) Effect { return HalfOpen{t.device} }},
	}
}
