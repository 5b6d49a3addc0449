package config

import (
	"math"
	"slices"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
)

// Corner is an edge of what a station may be. Its overrides are given parameters of
// the station file, in SI; those of one corner belong together.
type Corner struct {
	Name      string
	Overrides []Override
	// Supply is the voltage of the drives as a share of the nominal; 0 leaves it.
	Supply quantity.Ratio
	// Wind blows instead of the station's own: m/s, above 0 towards the upper ends
	// of the main axes; with a weather of its own, from that one's side. It is steady:
	// the 20 m/s are what gusts reach. 0 leaves it.
	Wind quantity.Speed
}

// Override is one parameter at another value, SI.
type Override struct {
	Path  string
	Value float64
}

// The spread of what a data sheet says once, as shares. Common practice.
const (
	lessFriction, moreFriction = 0.5, 1.5
	weakBrakes, strongBrakes   = 0.8, 1.2
	lowSupply                  = 0.9
)

// Corners lists the corners of the station, in a fixed order: inertia lowest and
// highest, as the file has them; friction; brakes; a low supply, which takes torque
// above the base rate and energy from the link of those drives whose sheets say so; and
// a wind of 20 m/s each way, which assists or opposes by the direction of a motion. One
// that is the station as it stands is left out.
func (s *Station) Corners() []Corner {
	var all []Corner
	add := func(name string, keys []string, of func(Parameter) float64) {
		c := Corner{Name: name}
		for _, axis := range plant.AxisNames {
			for _, key := range keys {
				p, ok := s.Lookup(axis + "." + key)
				if at := of(p); ok && at != p.Value {
					c.Overrides = append(c.Overrides, Override{p.Path, at})
				}
			}
		}
		if c.Overrides != nil {
			all = append(all, c)
		}
	}
	times := func(share float64) func(Parameter) float64 {
		return func(p Parameter) float64 { return share * p.Value }
	}
	inertia := []string{"load_inertia", "motor_inertia"}
	friction := []string{"coulomb_friction", "viscous_friction"}
	brakes := []string{"brake_torque"}
	add("inertia lowest", inertia, func(p Parameter) float64 { return p.Lowest })
	add("inertia highest", inertia, func(p Parameter) float64 { return p.Highest })
	add("friction -50 %", friction, times(lessFriction))
	add("friction +50 %", friction, times(moreFriction))
	add("brakes 80 %", brakes, times(weakBrakes))
	add("brakes 120 %", brakes, times(strongBrakes))
	if slices.ContainsFunc(s.sheets[:], func(one sheet) bool { return one.minds() }) {
		all = append(all, Corner{Name: "supply 90 %", Supply: lowSupply})
	}
	own := quantity.Speed(s.form.Wind.Constant.value)
	if s.form.Weather != nil || own != ruleWind {
		all = append(all, Corner{Name: "wind 20 m/s towards upper", Wind: ruleWind})
	}
	return append(all, Corner{Name: "wind 20 m/s towards lower", Wind: -ruleWind})
}

// AtCorner is the station at one of its corners: as one file would have it, which its
// derived figures are of, and assembled. The assembled one differs from nominal in its
// mechanics, its supply and its wind alone: drives, and whoever was told of the station, know the
// nominal figures. Gears and structure keep their stiffness, whatever inertia hangs on
// them.
func (s *Station) AtCorner(c Corner) (*Station, station.Parameters, error) {
	made := s.Station()
	changed := s
	if len(c.Overrides) > 0 {
		overrides := map[string]float64{}
		for _, o := range c.Overrides {
			overrides[o.Path] = o.Value
		}
		var err error
		if changed, _, err = assemble(s.doc.file, overrides); err != nil {
			return nil, made, err
		}
		nominal := made.Plant
		made.Plant = changed.plant()
		for axis := range made.Plant.Axes {
			keepStiffness(&made.Plant.Axes[axis], &nominal.Axes[axis])
		}
	}
	made.Supply = c.Supply
	if c.Wind != 0 {
		s.blow(&made, c.Wind)
	}
	return changed, made, nil
}

// minds tells a drive to which the voltage of its supply makes a difference.
func (s *sheet) minds() bool { return s.form.BaseRate.set || s.form.Link != nil }

// keepStiffness gives an axis the springs of another one.
func keepStiffness(a, of *plant.AxisParameters) {
	a.Stiffness = of.Stiffness
	lighter := math.Sqrt(float64(of.LoadInertia / a.LoadInertia))
	a.Reflector.Frequency = of.Reflector.Frequency * quantity.Frequency(lighter)
}

// blow puts a wind on an assembled station, below 0 the other way.
func (s *Station) blow(p *station.Parameters, wind quantity.Speed) {
	p.Wind = quantity.Speed(math.Abs(float64(wind)))
	for axis := range plant.Axis(plant.MainAxes) {
		torque := quantity.Torque(math.Copysign(float64(s.wind(axis, p.Wind)), float64(wind)))
		p.External[axis] = torque + p.Plant.Axes[axis].ConstantUnbalance()
	}
	if p.Weather != nil {
		p.Weather.Mean, p.Weather.Intensity = p.Wind, 0 // made for this station alone
		if wind < 0 {
			p.Weather.From += math.Pi
		}
	}
}
