package station_test

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
	"haltmark/emulators/interlock"
)

// withSafety is a rig on the demo station whose main drives have every safe function
// and whose azimuth has one wired.
func withSafety(t *testing.T, function drive.SafeRequest, by station.Contact,
	plan ...fault.Entry) *rig {
	set := demo(t)
	for m := range 4 {
		set.Drives[m].Safety = drive.Safety{SS2Time: time.Second, SOSWindow: 0.1 * deg,
			SLSRate: 0.6 * deg, SDIWindow: 0.05 * deg, SBC: true}
	}
	set.External = [plant.AxisCount]quantity.Torque{}
	set.Wiring.Safe = []station.SafeInput{{Axis: plant.Azimuth, Function: function, Contact: by}}
	r := rigOf(t, set, plan...)
	r.rate = [plant.AxisCount]float64{deg, deg}
	return r
}

// Beyond 0.6 deg/s, SLS trips the drives of its axis with STO, IEC 61800-5-2, from the
// step at which its contact selects it; those of the other axis do not hear it.
func TestSafe_LimitedSpeedByTheSelector(t *testing.T) {
	for name, row := range map[string]struct {
		by      station.Contact
		mode    string
		rate    float64
		tripped bool
	}{
		"maintenance, fast": {station.ContactMaintenance, "maintenance", deg, true},
		"maintenance, slow": {station.ContactMaintenance, "maintenance", 0.5 * deg, false},
		"local, fast":       {station.ContactLocal, "local", deg, true},
		"the other mode":    {station.ContactLocal, "maintenance", deg, false},
		"remote":            {station.ContactLocal, "remote", deg, false},
	} {
		r := withSafety(t, drive.RequestSLS, row.by, begins(t, "mode_turned", "station",
			"mode", row.mode))
		r.rate[plant.Azimuth] = row.rate
		r.run(start + 20*ms + 2*step) // 20 ms is the drive's STO
		for m, want := range map[int]bool{0: row.tripped, 1: row.tripped, 2: false} {
			got := r.s.Drives[m].ErrorCode() == cia402.ErrorSafeSpeed
			if got != want || r.s.Drives[m].PowerOn() == want {
				t.Errorf("%s: %s: %v", name, plant.MotorNames[m], r.s.Drives[m])
			}
		}
	}
}

// Outside an open pre-limit the axis may only turn back; either end by its own input.
func TestSafe_DirectionAtThePreLimits(t *testing.T) {
	limits := demo(t).Plant.Axes[plant.Azimuth].Limits
	for end, outward := range map[int]float64{plant.Lower: -1, plant.Upper: 1} {
		for _, way := range []float64{1, -1} {
			r := withSafety(t, station.SafeDirection, station.ContactPreLimit)
			at := float64(limits.PreLimit[end]) - outward*0.3*deg
			if way < 0 {
				at += outward * 0.6 * deg
			}
			r.s.Plant.Place(plant.Azimuth, at)
			r.rate[plant.Azimuth] = way * outward * 0.5 * deg
			r.run(2 * time.Second)
			if got, want := r.s.Drives[0].ErrorCode() == cia402.ErrorSafeDirection, way > 0; got != want {
				t.Errorf("%s end, way %g: %v", plant.EndNames[end], way, r.s.Drives[0])
			}
		}
	}
}

// SS2 stops the axis with its torque on; SBC closes the brakes at once.
func TestSafe_StopAndBrake(t *testing.T) {
	r := withSafety(t, drive.RequestSS2, station.ContactHatch, begins(t, "hatch_opened", "station"))
	r.run(start + 1500*ms)
	rate := r.s.Plant.State().Rate
	if !r.s.Drives[0].PowerOn() || math.Abs(rate[0]) > 0.01*deg || rate[1] < 0.9*deg {
		t.Errorf("SS2: %v at %g and %g deg/s", r.s.Drives[0], rate[0]/deg, rate[1]/deg)
	}
	r = withSafety(t, drive.RequestSBC, station.ContactIsolator,
		begins(t, "isolator_opened", "azimuth"))
	r.set.Wiring.Isolator = [plant.AxisCount]bool{}
	if r.run(start + step); r.level("azimuth.1.brake_coil") || !r.level("elevation.1.brake_coil") {
		t.Error("SBC leaves the brake coil on, or takes another axis's")
	}
}

// Every contact selects by itself, and only while it is open.
func TestSafe_EveryContact(t *testing.T) {
	panels := map[station.Contact]func(*interlock.Panel){
		station.ContactRelay:       func(p *interlock.Panel) { p.EmergencyStop = [2]bool{true, true} },
		station.ContactLocal:       func(p *interlock.Panel) { p.Mode = interlock.Local },
		station.ContactMaintenance: func(p *interlock.Panel) { p.Mode = interlock.Maintenance },
		station.ContactHatch:       func(p *interlock.Panel) { p.Hatch = true },
		station.ContactLadder:      func(p *interlock.Panel) { p.Ladder = true },
		station.ContactPin:         func(p *interlock.Panel) { p.Pin[plant.Azimuth] = true },
		station.ContactIsolator:    func(p *interlock.Panel) { p.Isolator[plant.Azimuth] = true },
		station.ContactOverride:    func(p *interlock.Panel) { p.Override = true },
	}
	for i, name := range station.ContactNames() {
		c := station.Contact(i)
		if c.AtEnd() {
			continue
		}
		r := withSafety(t, drive.RequestSBC, c)
		asked := func() bool { return uint32(r.s.Drives[0].Load(drive.DigitalInputs))>>23&1 == 1 }
		r.run(100 * ms)
		if asked() {
			t.Errorf("%s selects while it is closed", name)
		}
		panels[c](&r.s.Interlock.Panel)
		if r.run(200 * ms); !asked() {
			t.Errorf("%s does not select", name)
		}
	}
}
