package station_test

import (
	"bytes"
	"errors"
	"os"
	"slices"
	"syscall"
	"testing"
	"time"

	"haltmark/bench/fault"
	"haltmark/bench/link"
	"haltmark/bench/station"
	"haltmark/emulators/modbus"
)

// wireRow is what a fault on the wire does to an exchange of 10 ms patience.
type wireRow struct {
	dial, read error
	then       error // of a second exchange, where the first went well
	anyhow     bool  // some error, within twenty exchanges
	late       bool  // answers, but only to the patient
}

func expected(name string) wireRow {
	switch name {
	case "delay", "slow_bytes", "answers_late":
		return wireRow{read: os.ErrDeadlineExceeded, late: true}
	case "refuse":
		return wireRow{dial: syscall.ECONNREFUSED}
	case "reset":
		return wireRow{read: syscall.ECONNRESET}
	case "messages_repeated":
		return wireRow{then: modbus.ErrStale}
	case "messages_corrupted":
		return wireRow{anyhow: true}
	case "transaction_repeated", "wrong_unit":
		return wireRow{read: modbus.ErrStale}
	}
	return wireRow{read: os.ErrDeadlineExceeded}
}

// suffers checks what a fault does to a connection and to a new one.
func (c *client) suffers(want wireRow, what string) {
	t := c.w.t
	err := c.exchange(10 * ms)
	for n := 1; want.anyhow && err == nil && n < 20; n++ {
		err = c.exchange(10 * ms)
	}
	// Whoever writes to a connection that is known to be broken hears it at once.
	broken := want.read == syscall.ECONNRESET && errors.Is(err, syscall.EPIPE)
	if want.anyhow && err == nil || !want.anyhow && !errors.Is(err, want.read) && !broken {
		t.Errorf("%s: %s gives %v, want %v", what, c.seat.Name, err, want.read)
	}
	if want.then != nil {
		if err := c.exchange(10 * ms); !errors.Is(err, want.then) {
			t.Errorf("%s: %s then gives %v, want %v", what, c.seat.Name, err, want.then)
		}
	}
	conn, err := c.w.net.Dial(c.seat.Endpoint, link.ModbusTCP)
	if !errors.Is(err, want.dial) {
		t.Errorf("%s: dialling %s gives %v, want %v", what, c.seat.Name, err, want.dial)
	}
	if err == nil {
		if err := conn.Close(); err != nil {
			t.Error(err)
		}
	}
	if !want.late {
		return
	}
	err = c.exchange(200 * ms) // first of all comes the late answer
	if err != nil && !errors.Is(err, modbus.ErrStale) {
		t.Errorf("%s: %s gives %v to the patient", what, c.seat.Name, err)
	}
}

// traffic is all that passes in twenty exchanges with every device.
func traffic(t *testing.T, plan ...fault.Entry) (all []link.Packet) {
	w := serve(t, demo(t), plan...)
	w.net.Tap = func(p link.Packet) {
		p.Bytes = bytes.Clone(p.Bytes)
		all = append(all, p)
	}
	w.clock.Run(ms, nil)
	w.s.Advance(ms)
	for _, seat := range w.polled() {
		c := w.dial(seat, status(seat), nil)
		for range 20 {
			_ = c.exchange(2 * ms) // the packets tell
		}
	}
	return all
}

func samePacket(a, b link.Packet) bool {
	return a.At == b.At && a.Service == b.Service && a.Direction == b.Direction &&
		a.Connection == b.Connection && bytes.Equal(a.Bytes, b.Bytes)
}

// Each fault of the wire that has a probability, or a time, both ways: at zero
// the traffic is to the byte what it is without, and otherwise it is not.
func TestFaults_OnTheWireAtZeroEqualAbsence(t *testing.T) {
	plain := traffic(t)
	tried := 0
	for _, k := range station.Faults() {
		zero := idle(k)
		if k.Place != fault.PlaceWire || len(zero) == 0 {
			continue
		}
		zero["direction"] = "both"
		tried++
		target := "azimuth.encoder"
		at := func(with map[string]string) []link.Packet {
			return traffic(t, fault.Entry{Fault: mustFault(t, k.Name, target, with)})
		}
		if !slices.EqualFunc(plain, at(zero), samePacket) {
			t.Errorf("%s at zero changes the traffic", k.Name)
		}
		if slices.EqualFunc(plain, at(k.Example()), samePacket) {
			t.Errorf("%s changes nothing", k.Name)
		}
	}
	if tried < 11 {
		t.Errorf("%d faults tried, 11 have a probability or a time", tried)
	}
}

// Every other fault whose strength can be zero: then it is a mark and no more.
func TestFaults_AtZeroEqualAbsence(t *testing.T) {
	const until = 2500 * ms
	sound := moving(t, middle())
	sound.run(until)
	state := *sound.s.Plant.State()
	tried := 0
	for _, k := range station.Faults() {
		zero := idle(k)
		if k.Place == fault.PlaceWire || len(zero) == 0 || k.Name == "gust_step" {
			continue // a gust of none still brings weather instead of a constant torque
		}
		tried++
		f := mustFault(t, k.Name, k.On.Targets()[0], zero)
		r := moving(t, middle(), fault.Entry{Start: moment(start), Fault: f})
		r.run(until)
		if *r.s.Plant.State() != state || !r.healthy(sound) {
			t.Errorf("%v is not nothing", f)
		}
		if names := changed(facesOf(r), facesOf(sound)); len(names) > 0 {
			t.Errorf("%v shows at %v", f, names)
		}
		if f.Idle() == nil || mustFault(t, k.Name, k.On.Targets()[0], k.Example()).Idle() != nil {
			t.Errorf("%v or one as in the catalogue is taken for what it is not", f)
		}
	}
	if tried < 18 {
		t.Errorf("%d faults tried, 18 have an idle value", tried)
	}
}

// idle is the strength at which a fault does nothing; empty where there is none.
func idle(k fault.Kind) map[string]string {
	zero := map[string]string{}
	for _, p := range k.Parameters {
		if p.Idle != "" {
			zero[p.Name] = p.Idle
		}
	}
	return zero
}

// A half-open connection stays dead while either of two faults stands, and those
// made meanwhile stay sound.
func TestFaults_HalfOpenTwice(t *testing.T) {
	half := mustFault(t, "half_open", "azimuth.encoder", nil)
	w := serve(t, demo(t), fault.Entry{Fault: half, Start: moment(100 * ms), Lasts: 100 * ms},
		fault.Entry{Fault: half, Start: moment(100 * ms), Lasts: 400 * ms})
	seat := w.s.Seats()[0]
	old := w.dial(seat, status(seat), nil)
	if err := old.exchange(10 * ms); err != nil {
		t.Fatal(err)
	}
	at := func(now time.Duration) {
		w.clock.Run(now, nil)
		w.s.Advance(now)
	}
	at(150 * ms)
	young := w.dial(seat, status(seat), nil)
	for _, now := range []time.Duration{160 * ms, 300 * ms} {
		at(now)
		if err := old.exchange(10 * ms); !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("at %v the old connection gives %v", now, err)
		}
		if err := young.exchange(10 * ms); err != nil {
			t.Errorf("at %v the young connection gives %v", now, err)
		}
	}
	at(600 * ms)
	if err := old.exchange(10 * ms); err != nil {
		t.Errorf("afterwards the old connection gives %v", err)
	}
}
