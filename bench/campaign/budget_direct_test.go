package campaign_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/cia402"
	"haltmark/emulators/interlock"
	"haltmark/emulators/modbus"
	"haltmark/emulators/registers"
)

// directly is the station under the plainest of controllers, which leads the
// drives, feeds the interlock unit and reads everything once a control cycle.
type directly struct {
	t       testing.TB
	s       *station.Station
	devices []exchanger
	rate    float64
}

// exchanger is one device as a controller has it, without any network.
type exchanger struct {
	device registers.Device
	reads  []int // ids of quantities, as those that follow
	writes []int
	values []float64 // to be written
	client *registers.Client
	server *modbus.Server
	bytes  [2][]byte
}

func newDirect(t testing.TB, bytes bool) *directly {
	c, _ := loadDemo(t)
	set := c.Station()
	set.External = [plant.AxisCount]quantity.Torque{} // no integral that would hold against it
	s, err := station.New(set, station.Options{Position: [plant.AxisCount]float64{0, 45 * degree}})
	if err != nil {
		t.Fatal(err)
	}
	d := &directly{t: t, s: s}
	add := func(seat station.Seat, device registers.Device, reads, writes []string) {
		e := newExchanger(device, reads, writes)
		if bytes {
			e.connect(t, seat, reads, writes)
		}
		d.devices = append(d.devices, e)
	}
	for a := range s.Encoders {
		add(*set.Seat(station.RoleEncoder, a), s.Encoders[a], []string{"position_value", "alarms"}, nil)
	}
	for m := range s.Drives {
		add(*set.Seat(station.RoleDrive, m), s.Drives[m],
			[]string{"statusword", "velocity_actual", "torque_actual", "error_code"},
			[]string{"controlword", "target_velocity", "torque_offset"})
	}
	inputs, outputs := interlockWords()
	add(*set.Seat(station.RoleInterlock, 0), s.Interlock, inputs, outputs)
	d.start()
	return d
}

// interlockWords are the bits that the stand-in reads and writes, about.
func interlockWords() (reads, writes []string) {
	all := interlock.Quantities()
	first := slices.Index(all, "enable_azimuth")
	reads = slices.DeleteFunc(slices.Clone(all[:first]), func(q string) bool {
		return q == "reset_button" || q == "arm_button" || q[:4] == "mode"
	})
	return reads, all[first:]
}

func newExchanger(device registers.Device, reads, writes []string) exchanger {
	e := exchanger{device: device, values: make([]float64, len(writes))}
	for _, name := range reads {
		e.reads = append(e.reads, slices.Index(device.Quantities(), name))
	}
	for _, name := range writes {
		e.writes = append(e.writes, slices.Index(device.Quantities(), name))
	}
	return e
}

// connect puts a client and a server between the controller and the device.
func (e *exchanger) connect(t testing.TB, seat station.Seat, reads, writes []string) {
	var err error
	if e.client, err = registers.NewClient(seat.Map, seat.Gear, reads, writes); err != nil {
		t.Fatal(err)
	}
	unit, err := registers.Bind(seat.Map, e.device, seat.Gear)
	if err != nil {
		t.Fatal(err)
	}
	e.server = &modbus.Server{}
	e.server.Attach(e.client.Unit, &modbus.Unit{Bank: unit})
}

// exchange writes and reads everything, by bytes or without.
func (e *exchanger) exchange(t testing.TB) {
	if e.client == nil {
		for i, id := range e.writes {
			if err := e.device.Store(id, e.values[i]); err != nil {
				t.Fatal(err)
			}
		}
		for _, id := range e.reads {
			e.device.Load(id)
		}
		return
	}
	for i, v := range e.values {
		e.client.Set(i, v)
	}
	for i := range e.client.Requests() {
		e.bytes[0] = e.client.AppendRequest(e.bytes[0][:0], i)
		e.bytes[1] = e.server.Respond(e.bytes[1][:0], e.bytes[0])
		if _, err := e.client.Decode(e.bytes[1]); err != nil {
			t.Fatal(err)
		}
	}
}

// start brings the station to where both main axes turn.
func (d *directly) start() {
	d.rate = degree
	d.carry(100 * time.Millisecond)
	d.s.Interlock.Panel.Reset = true
	d.carry(200 * time.Millisecond)
	d.s.Interlock.Panel.Reset = false
	d.carry(3 * time.Second)
	if rate := d.s.Plant.State().Rate[plant.Azimuth]; math.Abs(rate-d.rate) > 0.1*degree {
		d.t.Fatalf("azimuth turns at %g rad/s, was told %g", rate, d.rate)
	}
}

func (d *directly) carry(by time.Duration) {
	for until := d.s.Now() + by; d.s.Now() < until; {
		d.s.Advance(d.s.Now() + cycle)
		for i := range d.devices {
			e := &d.devices[i]
			switch m := i - plant.AxisCount; {
			case m >= plant.MotorCount: // the interlock unit
				for k := range e.values {
					e.values[k] = 1
				}
			case m >= 0:
				e.values[0], e.values[1] = word(d.s.Drives[m].State()), 0
				if plant.MotorAxis[m].Main() {
					e.values[1] = d.rate
				}
			}
			e.exchange(d.t)
		}
	}
}

// word leads a drive on, CiA 402 transitions 2, 3 and 4.
func word(s cia402.State) float64 {
	switch s {
	case cia402.SwitchOnDisabled:
		return 0x06
	case cia402.ReadyToSwitchOn:
		return 0x07
	}
	return 0x0F
}

// run sweeps to and fro, so that no end is met.
func (d *directly) run() {
	d.rate = -d.rate
	d.carry(stretch)
}
