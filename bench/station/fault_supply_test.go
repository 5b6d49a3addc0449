package station_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
)

// withLink is the demo station whose drives have a link of invented figures that
// rides through 20 ms.
func withLink(t testing.TB) station.Parameters {
	set := demo(t)
	for m := range set.Drives {
		set.Drives[m].Link = drive.Link{Energy: 60, Chopper: 1.2, Over: 1.35, Under: 0.65,
			Resistor: 150 * ms, Heat: 5000, Cooling: time.Minute, Efficiency: 0.9, Dip: 20 * ms}
	}
	set.External = [plant.AxisCount]quantity.Torque{}
	return set
}

// voltage is object 6079 of a drive, per mille of the nominal.
func (r *rig) voltage(m int) float64 { return r.s.Drives[m].Load(drive.LinkVoltage) }

// A dip reaches the drives it names, from its step on and for its length, however
// long the fault itself stands, and the record has it.
func TestSupplyDip_ForItsLength(t *testing.T) {
	r := moving(t, middle(), begins(t, "supply_dip", "station", "to", "70 %", "length", "40 ms"),
		begins(t, "drive_supply_dip", "elevation.2", "to", "50 %", "length", "90 ms"))
	for _, row := range []struct {
		at   time.Duration
		want [2]float64 // of azimuth.1 and elevation.2
	}{{start, [2]float64{1000, 1000}}, {start + step, [2]float64{700, 500}},
		{start + 40*ms, [2]float64{700, 500}}, {start + 40*ms + step, [2]float64{1000, 500}},
		{start + 90*ms + step, [2]float64{1000, 1000}}} {
		r.run(row.at)
		if got := [2]float64{r.voltage(0), r.voltage(3)}; got != row.want {
			t.Errorf("at %v: %v per mille, want %v", row.at-start, got, row.want)
		}
	}
	if at := r.edges("azimuth.1.supply", 700); !slices.Equal(at, []time.Duration{start}) {
		t.Errorf("the record has the dip at %v, want %v", at, start)
	}
	if at := r.edges("elevation.2.supply", 1000); !slices.Equal(at,
		[]time.Duration{0, start + 90*ms}) {
		t.Errorf("the record has the whole voltage at %v", at)
	}
}

// A loss within the ride-through of the link leaves the motion as it is; a longer one
// ends in a ramp on the link's energy and error 3120: a supply
// that is lost asks for category 1 on ride-through (fixtures/causes.yaml). A drive
// whose link is not modelled loses its torque with its supply.
func TestSupplyDip_RiddenThroughOrNot(t *testing.T) {
	for name, row := range map[string]struct {
		set    station.Parameters
		length string
		code   uint16
		power  bool // after 30 ms
		ends   cia402.State
	}{
		"short":   {withLink(t), "19 ms", 0, true, cia402.OperationEnabled},
		"long":    {withLink(t), "2 s", cia402.ErrorMainsUnder, true, cia402.Fault},
		"no link": {demo(t), "2 s", cia402.ErrorLinkUnder, false, cia402.Fault},
	} {
		r := rigOf(t, row.set, begins(t, "supply_dip", "station", "to", "0 %",
			"length", row.length))
		r.rate[plant.Azimuth] = deg
		r.run(start + 30*ms)
		d := r.s.Drives[0]
		if d.PowerOn() != row.power || d.ErrorCode() != row.code {
			t.Errorf("%s: 30 ms into the dip: %v, power is on: %v", name, d, d.PowerOn())
		}
		r.enable = row.code == 0 && row.power
		r.run(start + 1500*ms)
		if d.State() != row.ends {
			t.Errorf("%s: ends as %v, want %v", name, d, row.ends)
		}
	}
}

// A station at 90 % of its supply has torque as ever up to 90 % of the base rate.
func TestSupply_OfTheStation(t *testing.T) {
	set := demo(t)
	set.Supply = 0.9
	r := rigOf(t, set)
	r.run(time.Second)
	if got := r.voltage(2); math.Abs(got-900) > 1e-9 {
		t.Errorf("%g per mille, want 900", got)
	}
	if at := r.edges("elevation.1.supply", 900); !slices.Equal(at, []time.Duration{0}) {
		t.Errorf("the record has it at %v", at)
	}
	low := fault.Entry{Fault: mustFault(t, "supply_dip", "station",
		map[string]string{"to": "95 %"})}
	if _, err := r.s.Plan(low); err != nil {
		t.Fatal(err)
	}
	if r.run(1100 * ms); math.Abs(r.voltage(2)-900) > 1e-9 {
		t.Errorf("a dip to 95 %% lifts it to %g per mille", r.voltage(2))
	}
}

// A servo unit has what both its motors have in common.
func TestSupplyDip_OfAServoUnit(t *testing.T) {
	r := rigOf(t, withServo(t), begins(t, "drive_supply_dip", "azimuth.2", "to", "60 %"))
	if r.run(start + 2*step); math.Abs(r.voltage(0)-600) > 1e-9 {
		t.Errorf("%g per mille, want 600", r.voltage(0))
	}
}
