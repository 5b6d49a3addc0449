package fault

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/nmea"
)

// The causes of HAZARDS.md HZ-07 and HZ-19 that lie in weather and its mast.
func weatherRows() []effectRow {
	const deg = quantity.Degree
	return []effectRow{
		{"wind_constant", "station", []string{"speed", "20 m/s", "from", "-30 deg"},
			WindConstant{20, -30 * deg, 0}},
		{"wind_gusts", "station", []string{"mean", "18 m/s"},
			WindGusts{18, 0, plant.ModelVonKarman, 0.15, 120, 0}},
		{"wind_gusts", "station", []string{"mean", "18 m/s", "spectrum", "dryden",
			"intensity", "20 %", "length", "90 m", "from", "90 deg",
			"rise", "4 s"},
			WindGusts{18, 90 * deg, plant.ModelDryden, 0.2, 90, 4 * time.Second}},
		{"gust_step", "station", []string{"by", "8 m/s"}, GustStep{By: 8}},
		{"gust_step", "station", []string{"by", "-8 m/s", "rise", "0.5 s"},
			GustStep{-8, 500 * time.Millisecond}},
		{"mast_silent", "mast", nil, MastSilent{}},
		{"mast_frozen", "mast", nil, MastFrozen{}},
		{"mast_invalid", "mast", nil, MastInvalid{}},
		{"mast_unit", "mast", []string{"unit", "km/h"}, MastUnit{nmea.KilometresPerHour, false}},
		{"mast_unit", "mast", []string{"unit", "knots", "number", "as_before"},
			MastUnit{nmea.Knots, true}},
		{"mast_spike", "mast", []string{"by", "30 m/s"}, MastSpike{30}},
	}
}
