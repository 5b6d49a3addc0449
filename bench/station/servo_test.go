package station_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/drive"
)

// withServo is the demo station with one servo unit on azimuth.
func withServo(t testing.TB) station.Parameters {
	set := demo(t)
	for m := range 2 {
		set.Drives[m].Servo, set.Drives[m].Bias = true, 8.4*quantity.KilonewtonMetre
		own := set.Seat(station.RoleDrive, m)
		*own = *set.Seat(station.RoleDrive, 0)
		own.Index = m
	}
	set.External = [plant.AxisCount]quantity.Torque{}
	return set
}

// rigOf is a rig on any station.
func rigOf(t testing.TB, set station.Parameters, plan ...fault.Entry) *rig {
	t.Helper()
	r := &rig{t: t, set: set, enable: true, brakes: true}
	r.rec = record.NewRecorder(set.Channels(), nil)
	var err error
	r.s, err = station.New(set, station.Options{Position: middle(), Faults: plan, Recorder: r.rec})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A servo unit moves its axis as two drives with opposite offsets do: the shares
// T/2 + Tb and T/2 - Tb of testdata/SOURCES.md, whoever makes them.
func TestServo_MovesAsTwoBiasedDrives(t *testing.T) {
	unit := rigOf(t, withServo(t))
	set := demo(t)
	set.External = [plant.AxisCount]quantity.Torque{}
	pair := rigOf(t, set)
	for _, r := range []*rig{unit, pair} {
		r.run(time.Second)
		if r == pair {
			r.store(0, drive.TorqueOffset, 200) // of 42 kN m: 8.4 kN m
			r.store(1, drive.TorqueOffset, -200)
		}
		r.run(2 * time.Second)
		r.rate[plant.Azimuth] = 2 * deg
		r.run(6 * time.Second)
	}
	a, b := unit.s.Plant.State(), pair.s.Plant.State()
	if math.Abs(a.Rate[0]-b.Rate[0]) > 1e-6*deg || a.Rate[0] < 1.9*deg {
		t.Errorf("rates %g and %g deg/s", a.Rate[0]/deg, b.Rate[0]/deg)
	}
	for m := range 2 {
		if d := a.MotorTorque[m] - b.MotorTorque[m]; math.Abs(d) > 1 {
			t.Errorf("motor %d: %g N m, a drive of its own %g", m, a.MotorTorque[m], b.MotorTorque[m])
		}
	}
	if !unit.level("azimuth.1.torque_on") || !unit.level("azimuth.2.torque_on") {
		t.Error("the record does not tell the power of both motors")
	}
}

// What trips or loses its supply at one motor takes the torque of both, and one
// final stop chain serves them: category 0 on both (fixtures/causes.yaml).
func TestServo_BothMotorsAtOnce(t *testing.T) {
	at := 4 * time.Second
	for _, name := range []string{"drive_supply_lost", "drive_trip"} {
		r := rigOf(t, withServo(t), fault.Entry{
			Fault: mustFault(t, name, "azimuth.2", nil), Start: moment(at)})
		r.rate[plant.Azimuth] = deg
		r.run(at + time.Second)
		for m := range 2 {
			motor := plant.MotorNames[m]
			off := r.edges(motor+".torque_on", 0)
			if last := off[len(off)-1]; last != at {
				t.Errorf("%s: torque of %s off at %v", name, motor, last)
			}
		}
		if r.s.Drives[2].State() != cia402.OperationEnabled {
			t.Errorf("%s: elevation is in %v", name, r.s.Drives[2])
		}
	}
}

// Looking changes nothing: also not a unit that sleeps, a link that
// cools or a relay that selects SS1.
func TestServo_LookingChangesNothing(t *testing.T) {
	playing := func(look time.Duration) *rig {
		set := withServo(t)
		for m := range set.Drives {
			p := &set.Drives[m].Parameters
			p.Safety.SS1Time = 700 * ms
			p.Thermal.PeakTime = time.Second
			p.Link = drive.Link{Energy: 300, Chopper: 1.2, Over: 1.4, Under: 0.6, Heat: 1e5,
				Resistor: 100 * ms, Cooling: 2 * time.Second, Efficiency: 0.9, Dip: 20 * ms}
		}
		r := rigOf(t, set)
		r.look = look
		r.rate[plant.Azimuth] = deg
		r.run(3 * time.Second)
		r.s.Drives[2].Faults.HeldTrip = cia402.ErrorDriveHot // sleeps when SS1 is asked for
		r.run(4*time.Second + 7*ms)
		r.s.Interlock.Panel.EmergencyStop[0] = true
		r.run(8 * time.Second)
		return r
	}
	seen, unseen := playing(700*time.Microsecond), playing(0)
	if *seen.s.Plant.State() != *unseen.s.Plant.State() {
		t.Error("looking moves the plant")
	}
	a, b := seen.rec.Record().Edges, unseen.rec.Record().Edges
	if len(a) != len(b) {
		t.Fatalf("%d edges seen, %d unseen", len(a), len(b))
	}
	for i := range a {
		if a[i] != b[i] {
			t.Fatalf("edge %+v seen, %+v unseen", a[i], b[i])
		}
	}
}

// Both seats lead to the one unit, through one listener.
func TestServo_OneUnitBehindBothSeats(t *testing.T) {
	for _, address := range []string{"127.0.0.1:15011", "127.0.0.1:0"} {
		set := withServo(t)
		for m := range 2 {
			set.Seat(station.RoleDrive, m).Endpoint.Address = address
			set.Seat(station.RoleDrive, m).Unit = 77
		}
		w := serve(t, set)
		seats := w.s.Seats()[plant.AxisCount:]
		if seats[0].Endpoint != seats[1].Endpoint {
			t.Fatalf("seats at %v and %v", seats[0].Endpoint, seats[1].Endpoint)
		}
		c := w.dial(seats[1], nil, []string{"max_torque"})
		c.Set(0, 321)
		if err := c.exchange(10 * ms); err != nil {
			t.Fatal(err)
		}
		if got := w.s.Drives[0].Load(drive.MaxTorque); math.Abs(got-321) > 1e-9 {
			t.Errorf("written behind the second seat, the unit has %g", got)
		}
	}
}

func TestServo_RefusesHalfAUnit(t *testing.T) {
	for name, spoil := range map[string]func(*station.Parameters){
		"one motor alone":  func(p *station.Parameters) { p.Drives[1].Servo = false },
		"other parameters": func(p *station.Parameters) { p.Drives[1].Watchdog++ },
		"another seat":     func(p *station.Parameters) { p.Seat(station.RoleDrive, 1).Unit++ },
		"another bias":     func(p *station.Parameters) { p.Drives[1].Bias++ },
		"one motor only":   func(p *station.Parameters) { p.Drives[4].Servo = true },
		"bias too large": func(p *station.Parameters) {
			p.Drives[0].Bias, p.Drives[1].Bias = 1e9, 1e9
		},
	} {
		set := withServo(t)
		spoil(&set)
		if _, err := station.New(set, station.Options{}); err == nil ||
			!strings.Contains(err.Error(), "station demo: ") {
			t.Errorf("%s: %v", name, err)
		}
	}
	net := link.NewMemory(clock.NewVirtual())
	s, err := station.New(withServo(t), station.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Serve(net); err != nil {
		t.Errorf("whole: %v", err)
	}
}

// The healthy contact of each drive stands in its partner's circuit where the
// sheet says so: both off within 60 ms when one trips (fixtures/stations/small.yaml), by wire.
func TestPartnerInterlock_IsWired(t *testing.T) {
	for _, wired := range []bool{false, true} {
		set := demo(t)
		set.External = [plant.AxisCount]quantity.Torque{}
		for m := range 4 {
			set.Drives[m].PartnerInterlock = wired
		}
		r := rigOf(t, set)
		r.rate[plant.Azimuth] = deg
		r.run(4 * time.Second)
		r.s.Drives[0].Trip(cia402.ErrorShortMotor)
		r.s.Advance(r.s.Now() + 2*step)
		if off := !r.s.Drives[1].PowerOn(); off != wired {
			t.Errorf("wired %v: partner without torque is %v", wired, off)
		}
		if !r.s.Drives[2].PowerOn() {
			t.Error("the other axis has lost its torque")
		}
	}
}

// The relay's instant contact selects SS1: the drives ramp down and take their own
// torque off before the delayed contact does. A drive without SS1 hears nothing.
func TestSS1_HangsOnTheInstantContact(t *testing.T) {
	for _, has := range []bool{false, true} {
		set := demo(t)
		set.External = [plant.AxisCount]quantity.Torque{}
		for m := range set.Drives {
			set.Drives[m].Safety.SS1Time = 0
			if has {
				set.Drives[m].Safety.SS1Time = 1700 * ms // the relay's is 1.9 s
			}
		}
		r := rigOf(t, set)
		r.rate[plant.Azimuth] = 2 * deg
		r.run(5 * time.Second)
		r.s.Interlock.Panel.EmergencyStop[0] = true
		r.run(6500 * ms)
		if slow := math.Abs(r.s.Plant.State().Rate[0]) < 0.1*deg; slow != has {
			t.Errorf("SS1 %v: %g deg/s 1.5 s after the stop", has, r.s.Plant.State().Rate[0]/deg)
		}
		r.run(7 * time.Second)
		if r.s.Drives[0].PowerOn() {
			t.Errorf("SS1 %v: torque is on after the relay's time", has)
		}
	}
}
