package station

import (
	"haltmark/bench/fault"
	"haltmark/bench/quantity"
	"haltmark/emulators/nmea"
	"haltmark/emulators/weather"
)

// mastFaults are of the weather mast, which has to be on the network.
func mastFaults() []faultKind {
	units := []nmea.Unit{nmea.Knots, nmea.MetresPerSecond, nmea.KilometresPerHour}
	frozen := mastFault("mast_frozen", "the output of the weather mast is frozen", nil)
	frozen.act = func(s *Station, e fault.Edge) {
		s.Mast.Faults.Frozen = e.Began
		s.feel()
	}
	return []faultKind{
		frozen,
		mastFault("mast_silent", "the weather mast sends nothing more",
			func(f *weather.Faults, e fault.Edge) { f.Silent = e.Began }),
		mastFault("mast_invalid", "the weather mast marks its data as not valid",
			func(f *weather.Faults, e fault.Edge) { f.Invalid = e.Began }),
		mastFault("mast_unit", "the weather mast reports its speed in another unit",
			func(f *weather.Faults, e fault.Edge) {
				f.Unit = either(e.Began, units[int(e.Value("unit"))], 0)
				f.Mislabelled = e.Began && e.Value("number") == 1
			}).with(fault.Parameter{Name: "unit", Does: "the unit reported",
			Choices: []string{"knots", "m/s", "km/h"}, Example: "knots"},
			fault.Parameter{Name: "number", Does: "whether the number is in that unit or as before",
				Choices: []string{"converted", "as_before"}, Default: "converted"}),
		mastFault("mast_spike", "the weather mast reports a speed that is off by a constant",
			func(f *weather.Faults, e fault.Edge) {
				f.Spike = either(e.Began, quantity.Speed(e.Value("by")), 0)
			}).with(fault.Parameter{Name: "by", Does: "added to the speed reported",
			Dimension: quantity.DimSpeed, Lowest: "-100 m/s", Highest: "100 m/s",
			Example: "30 m/s", Idle: "0 m/s"}),
	}
}

func mastFault(name, does string, set func(*weather.Faults, fault.Edge)) faultKind {
	return faultKind{
		Kind: fault.Kind{Name: name, Place: fault.PlaceDevice, On: onMast(), Does: does},
		act:  func(s *Station, e fault.Edge) { set(&s.Mast.Faults, e) },
	}
}
