package fault

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/nmea"
)

// Effects of the weather and on its mast.
type (
	// WindConstant takes the place of the station's own wind over its rise, and has
	// no gusts.
	WindConstant struct {
		Speed quantity.Speed
		From  quantity.Angle
		Rise  time.Duration
	}
	// WindGusts takes the place of the station's own wind over its rise: a mean, and
	// gusts along it of the model's spectrum. Intensity is their deviation over the
	// mean.
	WindGusts struct {
		Mean      quantity.Speed
		From      quantity.Angle
		Model     plant.GustModel
		Intensity quantity.Ratio
		Length    quantity.Length
		Rise      time.Duration
	}
	// GustStep adds to the speed of whatever wind blows, at once or evenly over
	// the rise, and takes all of it back at its end.
	GustStep struct {
		By   quantity.Speed
		Rise time.Duration
	}
	// MastSilent lets the weather mast say nothing; its connections stay.
	MastSilent struct{}
	// MastFrozen repeats the wind at which it began.
	MastFrozen struct{}
	// MastInvalid tells that the data are not valid.
	MastInvalid struct{}
	// MastUnit tells another unit. Mislabelled leaves the number as it was.
	MastUnit struct {
		Unit        nmea.Unit
		Mislabelled bool
	}
	// MastSpike adds to the speed that is told.
	MastSpike struct{ By quantity.Speed }
)

func weather() []Kind { return append(winds(), mast()...) }

func winds() []Kind {
	speed := Parameter{Name: "speed", Dimension: quantity.DimSpeed,
		Does: "of the wind", Lowest: "0 m/s", Highest: "100 m/s", Example: "15 m/s"}
	from := Parameter{Name: "from", Does: "azimuth from which it blows",
		Dimension: quantity.DimAngle, Default: "0 deg"}
	rise := Parameter{Name: "rise", Does: "time that it takes; 0 s is at once",
		Dimension: quantity.DimSpan, Default: "0 s", Lowest: "0 s", Highest: "24 h"}
	mean := speed
	mean.Name, mean.Does, mean.Lowest = "mean", "of the wind", "0.1 m/s"
	return []Kind{
		{Name: "wind_constant", Place: PlacePhysics, On: OnStation,
			Does:       "a steady wind blows from one direction, torque by attitude",
			Parameters: []Parameter{speed, from, rise},
			effect: func(_ target, v []float64) Effect {
				return WindConstant{quantity.Speed(v[0]), quantity.Angle(v[1]), span(v[2])}
			}},
		{Name: "wind_gusts", Place: PlacePhysics, On: OnStation,
			Does: "a wind blows in gusts of a published spectrum, torque by attitude",
			Parameters: []Parameter{mean, from,
				{Name: "spectrum", Does: "of the gusts along the wind",
					Choices: plant.GustModelNames(), Default: "von_karman"},
				{Name: "intensity", Does: "standard deviation of the gusts over the mean",
					Dimension: quantity.DimRatio, Default: "15 %", Lowest: "0 %", Highest: "100 %"},
				{Name: "length", Does: "von Karman's length of the eddies along the wind",
					Dimension: quantity.DimLength, Default: "120 m", Lowest: "1 m",
					Highest: "2000 m"}, rise},
			effect: func(_ target, v []float64) Effect {
				return WindGusts{quantity.Speed(v[0]), quantity.Angle(v[1]),
					plant.GustModel(v[2]), quantity.Ratio(v[3]), quantity.Length(v[4]), span(v[5])}
			}},
		{Name: "gust_step", Place: PlacePhysics, On: OnStation,
			Does: "the wind that blows grows by a step",
			Parameters: []Parameter{{Name: "by", Does: "added to its speed",
				Dimension: quantity.DimSpeed, Lowest: "-100 m/s", Highest: "100 m/s",
				Example: "8 m/s"}, rise},
			effect: func(_ target, v []float64) Effect {
				return GustStep{quantity.Speed(v[0]), span(v[1])}
			}},
	}
}

func mast() []Kind {
	units := []nmea.Unit{nmea.Knots, nmea.MetresPerSecond, nmea.KilometresPerHour}
	plain := func(name, does string, e Effect) Kind {
		return Kind{Name: name, Place: PlaceDevice, On: OnMast, Does: does,
			effect: func(target, []float64) Effect { return e }}
	}
	return []Kind{
		plain("mast_silent", "the weather mast says nothing more", MastSilent{}),
		plain("mast_frozen", "the weather mast repeats one wind for ever", MastFrozen{}),
		plain("mast_invalid", "the weather mast marks its data as not valid", MastInvalid{}),
		{Name: "mast_unit", Place: PlaceDevice, On: OnMast,
			Does: "the weather mast tells its speed in another unit",
			Parameters: []Parameter{{Name: "unit", Does: "the unit told",
				Choices: []string{"knots", "m/s", "km/h"}, Example: "knots"},
				{Name: "number", Does: "whether the number is in that unit or as before",
					Choices: []string{"converted", "as_before"}, Default: "converted"}},
			effect: func(_ target, v []float64) Effect {
				return MastUnit{units[int(v[0])], v[1] == 1}
			}},
		{Name: "mast_spike", Place: PlaceDevice, On: OnMast,
			Does: "the weather mast tells a speed that is off by a constant",
			Parameters: []Parameter{{Name: "by", Does: "added to the speed told",
				Dimension: quantity.DimSpeed, Lowest: "-100 m/s", Highest: "100 m/s",
				Example: "30 m/s"}},
			effect: func(_ target, v []float64) Effect { return MastSpike{quantity.Speed(v[0])} }},
	}
}
