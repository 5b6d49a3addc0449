package standin

import (
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/emulators/modbus"
	"haltmark/emulators/registers"
	"haltmark/emulators/snmp"
)

// rig is a controller on a virtual clock with nobody at its devices' seats.
type rig struct {
	t     *testing.T
	clock *clock.Virtual
	net   *link.Memory
	c     *Controller
	heard []*snmp.Message // notifications
	id    int32
}

// Session of the receiver of notifications, which answers nothing.
func (r *rig) Respond(dst, datagram []byte) []byte {
	m, err := snmp.Decode(datagram)
	if err != nil {
		r.t.Errorf("notification: %v", err)
		return dst
	}
	r.heard = append(r.heard, m)
	return dst
}

func newRig(t *testing.T) *rig {
	t.Helper()
	v := clock.NewVirtual()
	t.Cleanup(v.Close)
	r := &rig{t: t, clock: v, net: link.NewMemory(v)}
	devices := testDevices()
	_, err := r.net.Serve(link.Service{Name: "receiver", Endpoint: devices.Notify,
		Framing: link.SNMPDatagram, Open: func() link.Session { return r }})
	if err != nil {
		t.Fatal(err)
	}
	if r.c, err = Start(v, r.net, testSettings(), devices); err != nil {
		t.Fatal(err)
	}
	return r
}

func testSettings() Settings {
	set := Settings{Timing: Timing{Cycle: 20 * ms, Silence: 100 * ms,
		Horn: 5 * time.Second, ArmedWindow: 10 * time.Second, BrakeFeedback: 500 * ms}}
	for k := range set.Axes {
		set.Axes[k] = *testAxis()
		if k >= MainAxes {
			set.Axes[k].Motors, set.Axes[k].Brakes = 1, false
		}
	}
	return set
}

// testDevices are seats with maps of one word for each quantity.
func testDevices() Devices {
	endpoint := func(network, address string) link.Endpoint {
		return link.Endpoint{Network: network, Address: address}
	}
	seat := func(name string, quantities ...string) Seat {
		m := registers.Map{Name: name}
		for i, q := range quantities {
			m.Points = append(m.Points, registers.Point{Quantity: q, Space: modbus.Holding,
				Address: uint16(2 * i), Bit: -1, Type: registers.S32, Write: true})
		}
		return Seat{Name: name, Endpoint: endpoint("tcp", "127.0.0.1:15001"), Map: m, Gear: 1}
	}
	var d Devices
	for k := range d.Encoders {
		d.Encoders[k] = seat("encoder", encoderReads()...)
	}
	for m := range d.Drives {
		d.Drives[m] = seat("drive", append(driveReads(), driveWrites()...)...)
	}
	d.Interlock = seat("interlock", append(interlockReads(), interlockWrites()...)...)
	d.Management = endpoint("udp", "127.0.0.1:10161")
	d.Notify = endpoint("udp", "127.0.0.1:10162")
	return d
}

// oneValue is a device that says one value for one quantity, and zero for the others.
type oneValue struct {
	seat  Seat
	id    int // of the quantity, in the order of the map
	value float64
}

func (o *oneValue) Quantities() []string {
	var names []string
	for _, p := range o.seat.Map.Points {
		names = append(names, p.Quantity)
	}
	return names
}

func (o *oneValue) Load(id int) float64 {
	if id == o.id {
		return o.value
	}
	return 0
}

func (o *oneValue) Store(int, float64) error { return nil }

// answerOf has a device's client take one whole answer with this value of one quantity.
func answerOf(t *testing.T, d *device, id int, value float64) {
	t.Helper()
	unit, err := registers.Bind(d.seat.Map, &oneValue{d.seat, id, value}, 1)
	if err != nil {
		t.Fatal(err)
	}
	var server modbus.Server
	server.Attach(d.client.Unit, &modbus.Unit{Bank: unit})
	for i := range d.client.Requests() {
		reply := server.Respond(nil, d.client.AppendRequest(nil, i))
		if _, err := d.client.Decode(reply); err != nil {
			t.Fatal(err)
		}
	}
}

// run lets the controller work until then.
func (r *rig) run(until time.Duration) { r.clock.Run(until, nil) }

// ask sends one message to the agent over the network and returns its answer.
func (r *rig) ask(kind snmp.Kind, bindings ...snmp.Binding) *snmp.Message {
	r.t.Helper()
	r.id++
	community := ReadCommunity
	if kind == snmp.Set {
		community = WriteCommunity
	}
	m := snmp.Message{Community: community, PDU: snmp.PDU{
		Kind: kind, RequestID: r.id, Bindings: bindings}}
	request, err := m.Append(nil)
	if err != nil {
		r.t.Fatal(err)
	}
	var answer *snmp.Message
	r.clock.Group("manager").Start("manager", func(p clock.Process) {
		conn, err := r.net.Dial(testDevices().Management, link.SNMPDatagram)
		if err != nil {
			r.t.Error(err)
			return
		}
		defer func() { _ = conn.Close() }()
		if err := conn.Write(request); err != nil {
			r.t.Error(err)
			return
		}
		reply, err := conn.Read(p, p.Now()+10*ms)
		if err != nil {
			r.t.Error(err)
			return
		}
		if answer, err = snmp.Decode(reply); err != nil {
			r.t.Error(err)
		}
	})
	r.clock.Run(r.clock.Now()+15*ms, func() bool { return answer != nil })
	if answer == nil {
		r.t.Fatal("the agent gave no answer")
	}
	return answer
}

// get asks for objects below the enterprise's number.
func (r *rig) get(names ...snmp.OID) []snmp.Value {
	r.t.Helper()
	var asked []snmp.Binding
	for _, name := range names {
		asked = append(asked, snmp.Binding{Name: name, Value: snmp.Null()})
	}
	answer := r.ask(snmp.Get, asked...)
	if answer.Status != snmp.NoError {
		r.t.Fatalf("%v at %d", answer.Status, answer.Index)
	}
	var values []snmp.Value
	for _, b := range answer.Bindings {
		values = append(values, b.Value)
	}
	return values
}

// set sends a command as the management layout has it.
func (r *rig) set(verb Verb, axis int, value, token int32) *snmp.Message {
	r.t.Helper()
	var bindings []snmp.Binding
	for i, v := range []int32{int32(verb), int32(axis), value, token} {
		bindings = append(bindings, snmp.Binding{Name: below(3, uint32(i+1), 0),
			Value: snmp.Integer(v)})
	}
	return r.ask(snmp.Set, bindings...)
}

// below is a name under the documentation number of RFC 5612.
func below(sub ...uint32) snmp.OID {
	return snmp.OID{1, 3, 6, 1, 4, 1, 32473}.Append(sub...)
}
