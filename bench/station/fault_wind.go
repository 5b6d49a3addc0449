package station

import (
	"fmt"
	"slices"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
)

// windFaults are of the wind, which needs no mast to push an antenna.
func windFaults() []faultKind {
	speed := fault.Parameter{Name: "speed", Dimension: quantity.DimSpeed,
		Does: "of the wind", Lowest: "0 m/s", Highest: "100 m/s", Example: "15 m/s"}
	from := fault.Parameter{Name: "from", Does: "azimuth from which it blows",
		Dimension: quantity.DimAngle, Default: "0 deg", Lowest: "-360 deg", Highest: "360 deg"}
	rise := fault.Parameter{Name: "rise", Does: "time that it takes; 0 s is at once",
		Dimension: quantity.DimSpan, Default: "0 s", Lowest: "0 s", Highest: "24 h"}
	mean, by := speed, speed
	mean.Name, mean.Lowest = "mean", "0.1 m/s"
	by.Name, by.Does, by.Lowest, by.Example = "by", "added to its speed", "-100 m/s", "8 m/s"
	by.Idle = "0 m/s"
	return []faultKind{
		windFault("wind_constant", "a steady wind blows from one direction, torque by attitude",
			func(f fault.Fault) Weather {
				return Weather{Mean: quantity.Speed(f.Value("speed")),
					From: quantity.Angle(f.Value("from"))}
			}).with(speed, from, rise).need(survivable("speed")),
		windFault("wind_gusts",
			"a wind blows in gusts of a published spectrum, torque by attitude",
			func(f fault.Fault) Weather {
				return Weather{Mean: quantity.Speed(f.Value("mean")),
					From:      quantity.Angle(f.Value("from")),
					Model:     plant.GustModel(f.Value("spectrum")),
					Intensity: quantity.Ratio(f.Value("intensity")),
					Length:    quantity.Length(f.Value("length"))}
			}).with(mean, from,
			fault.Parameter{Name: "spectrum", Does: "of the gusts along the wind",
				Choices: plant.GustModelNames(), Default: "von_karman"},
			fault.Parameter{Name: "intensity", Does: "standard deviation of the gusts over the mean",
				Dimension: quantity.DimRatio, Default: "15 %", Lowest: "0 %", Highest: "100 %"},
			fault.Parameter{Name: "length", Does: "von Karman's length of the eddies along the wind",
				Dimension: quantity.DimLength, Default: "120 m", Lowest: "1 m", Highest: "2000 m"},
			rise).need(survivable("mean")),
		{
			Kind: fault.Kind{Name: "gust_step", Place: fault.PlacePhysics, On: onStation(),
				Does: "the wind that blows grows by a step", Parameters: []fault.Parameter{by, rise}},
			needs: survivable("by"), act: stepWind, adds: true,
		},
	}
}

// windFault is a wind that blows instead of those before it.
func windFault(name, does string, weather func(fault.Fault) Weather) faultKind {
	return faultKind{
		Kind: fault.Kind{Name: name, Place: fault.PlacePhysics, On: onStation(), Does: does},
		act: func(s *Station, e fault.Edge) {
			a := &s.air
			if e.Began {
				a.winds = append(a.winds, s.blowing(e.ID, weather(e.Fault), e.Span("rise")))
			} else {
				a.winds = slices.DeleteFunc(a.winds, func(b blowing) bool { return b.id == e.ID })
			}
			s.turned()
		},
		adds: true,
	}
}

func stepWind(s *Station, e fault.Edge) {
	a := &s.air
	if e.Began {
		a.steps = append(a.steps,
			rising{e.ID, quantity.Speed(e.Value("by")), e.At, e.Span("rise")})
	} else {
		a.steps = slices.DeleteFunc(a.steps, func(r rising) bool { return r.id == e.ID })
	}
	s.turned()
}

// survivable wants a speed that the antenna is built for.
func survivable(parameter string) func(*Parameters, fault.Fault) error {
	return func(p *Parameters, f fault.Fault) error {
		if speed := quantity.Speed(f.Value(parameter)); speed > p.Survival {
			return fmt.Errorf("%s of %v is more than the antenna is built to survive, %v", parameter,
				speed, p.Survival)
		}
		return nil
	}
}
