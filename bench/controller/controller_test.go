package controller

import (
	"math"
	"testing"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/link"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/emulators/snmp"
)

const ms = time.Millisecond

func below(sub ...uint32) snmp.OID { return snmp.OID{1, 3, 6, 1, 4, 1, 32473}.Append(sub...) }

// The causes of the test profile, numbered as the bench does.
func pressed() Cause { return Cause{5, "emergency_stop"} }
func opened() Cause  { return Cause{4, "final_limit"} }

// testProfile is a profile of the shape that a sheet has.
func testProfile() Profile {
	p := Profile{
		Name: "test", ReadCommunity: "watch", WriteCommunity: "steer",
		Agent:  link.Endpoint{Network: "udp", Address: "127.0.0.1:10161"},
		Notify: link.Endpoint{Network: "udp", Address: "127.0.0.1:10162"},
		Status: below(1, 1, 0), Counter: below(1, 2, 0), Version: below(1, 3, 0),
		Layout: StatusLayout{State: Field{0, 4}, CauseAxis: Field{4, 4}, Cause: Field{8, 8},
			Locked: Field{16, 1}, Acquired: Field{17, 1}, Armed: Field{18, 1},
			Unacknowledged: Field{19, 1}},
		// A controller may number things its own way.
		States: []Numbered{{7, "resting"}, {2, "moving"}, {9, "stopped"}},
		Causes: []NumberedCause{{0, Cause{}}, {50, pressed()}, {4, opened()}},
		Columns: []Column{{Name: "position", Scale: float64(1e-6 * quantity.Degree),
			OIDs: [plant.AxisCount]snmp.OID{below(2, 1, 1), below(2, 1, 2), below(2, 1, 3)}}},
		AxisNumbers:        [plant.AxisCount]int{1, 2, 3, 4},
		Result:             &Result{Token: below(3, 5, 0), Code: below(3, 6, 0), Obeyed: 1},
		Notifications:      []NotificationKind{{below(4, 0, 1), "stopped"}},
		NotificationNumber: below(4, 1, 0), NotificationText: below(4, 2, 0),
	}
	p.Result.Reasons = []Reason{{3, "not armed"}}
	fixed := func(n int32) Write {
		return Write{OID: below(3, 1, 0), Type: snmp.TypeInteger, Fixed: snmp.Integer(n)}
	}
	axis := Write{OID: below(3, 2, 0), Type: snmp.TypeInteger, Fill: FillAxis}
	value := Write{OID: below(3, 3, 0), Type: snmp.TypeInteger, Fill: FillValue,
		Scale: float64(1e-6 * quantity.Degree)}
	token := Write{OID: below(3, 4, 0), Type: snmp.TypeInteger, Fill: FillToken}
	p.Commands = []Command{
		{Position, []Write{fixed(5), axis, value, token}},
		{Stop, []Write{fixed(3), axis, token}},
	}
	return p
}

// fake is a controller's agent, reduced to what the observer meets.
type fake struct {
	t        testing.TB
	clock    *clock.Virtual
	net      *link.Memory
	listener link.Listener
	notify   link.Conn
	agent    *snmp.Agent

	word     int32
	frozen   bool
	first    uint32 // value of the counter at time 0
	version  string
	written  [4]int32
	decided  int32
	code     int32
	refuse   snmp.ErrorStatus
	hesitate time.Duration // from a Set to its result
	orders   []([4]int32)
}

func (f *fake) counter() uint32 {
	if f.frozen {
		return f.first
	}
	return f.first + uint32(f.clock.Now()/(20*ms))
}

func newFake(t testing.TB) *fake {
	t.Helper()
	c := clock.NewVirtual()
	t.Cleanup(c.Close)
	f := &fake{t: t, clock: c, net: link.NewMemory(c), word: 7, code: 1, version: "v1"}
	integer := func(get func() int32, sub ...uint32) snmp.Object {
		return snmp.Object{Name: below(sub...), Type: snmp.TypeInteger,
			Get: func() snmp.Value { return snmp.Integer(get()) }}
	}
	objects := []snmp.Object{
		integer(func() int32 { return f.word }, 1, 1, 0),
		{Name: below(1, 2, 0), Type: snmp.TypeCounter32,
			Get: func() snmp.Value { return snmp.Counter32(f.counter()) }},
		{Name: below(1, 3, 0), Type: snmp.TypeOctetString,
			Get: func() snmp.Value { return snmp.Text(f.version) }},
		integer(func() int32 { return -12500000 }, 2, 1, 1),
		integer(func() int32 { return 45000000 }, 2, 1, 2),
		integer(func() int32 { return f.decided }, 3, 5, 0),
		integer(func() int32 { return f.code }, 3, 6, 0),
	}
	for i := range f.written {
		objects = append(objects, snmp.Object{Name: below(3, uint32(i+1), 0),
			Type: snmp.TypeInteger, Write: func(v snmp.Value) error {
				f.written[i] = int32(v.Int)
				return nil
			}})
	}
	var err error
	f.agent, err = snmp.NewAgent(snmp.AgentOptions{ReadCommunity: "watch",
		WriteCommunity: "steer", CheckSet: func([]snmp.Binding) (snmp.ErrorStatus, int) {
			if f.refuse != snmp.NoError {
				f.decided++ // the token of the refused command
			}
			return f.refuse, 0
		}, Committed: f.committed}, objects)
	if err != nil {
		t.Fatal(err)
	}
	f.serve()
	if f.notify, err = f.net.Dial(testProfile().Notify, link.SNMPDatagram); err != nil {
		t.Fatal(err)
	}
	return f
}

func (f *fake) serve() {
	var err error
	f.listener, err = f.net.Serve(link.Service{Name: "controller", Endpoint: testProfile().Agent,
		Framing: link.SNMPDatagram, Open: func() link.Session { return f.agent }})
	if err != nil {
		f.t.Fatal(err)
	}
}

// impair changes what comes back from the agent.
func (f *fake) impair(i link.Impairment) {
	f.listener.Impairments().Change(func(c *link.Conditions) { c.ToController = i })
}

func (f *fake) committed([]snmp.Binding) {
	if f.written[3] == f.decided {
		return // a repeat
	}
	if n := len(f.orders); n > 0 && f.orders[n-1][3] == f.written[3] {
		return
	}
	f.orders = append(f.orders, f.written)
	token := f.written[3]
	f.clock.At(f.clock.Now()+f.hesitate, func() { f.decided = token })
}

func (f *fake) send(word int32, counter, number uint32, kind snmp.OID, inform bool) {
	n := snmp.Notification{UpTime: f.clock.Now(), Name: kind, Inform: inform,
		Bindings: []snmp.Binding{
			{Name: below(1, 1, 0), Value: snmp.Integer(word)},
			{Name: below(1, 2, 0), Value: snmp.Counter32(counter)},
			{Name: below(4, 1, 0), Value: snmp.Counter32(number)},
			{Name: below(4, 2, 0), Value: snmp.Text("told")},
		}}
	wire, err := n.Message("watch", 3).Append(nil)
	if err != nil {
		f.t.Fatal(err)
	}
	if err := f.notify.Write(wire); err != nil {
		f.t.Fatal(err)
	}
}

func (f *fake) observer(p Profile) *Observer {
	f.t.Helper()
	o, err := NewObserver(f.clock, f.net, p)
	if err != nil {
		f.t.Fatal(err)
	}
	return o
}

func (f *fake) started(p Profile) *Observer {
	f.t.Helper()
	o := f.observer(p)
	f.start(o)
	return o
}

// start starts an observer until the end of the test.
func (f *fake) start(o *Observer) {
	f.t.Helper()
	if err := o.Start(); err != nil {
		f.t.Fatal(err)
	}
	f.t.Cleanup(func() {
		if err := o.Close(); err != nil {
			f.t.Error(err)
		}
	})
}

func (f *fake) run(until time.Duration) { f.clock.Run(until, nil) }

func near(a, b float64) bool { return math.Abs(a-b) < 1e-9 }
