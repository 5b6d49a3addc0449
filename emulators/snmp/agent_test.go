package snmp

import (
	"errors"
	"strings"
	"testing"
)

// world is a small tree of objects for the tests.
type world struct {
	status  int32
	counter uint32
	text    string
	long    uint64
	a, b    int32
	fail    int // the write with this number fails, from 1
	writes  int
	told    [][]Binding
	block   bool
}

var base = OID{1, 3, 6, 1, 4, 1, 32473}

func name(sub ...uint32) OID { return base.Append(sub...) }

func (w *world) write(to *int32) func(Value) error {
	return func(v Value) error {
		w.writes++
		if w.writes == w.fail {
			return errors.New("fails as told")
		}
		*to = int32(v.Int)
		return nil
	}
}

func (w *world) objects() []Object {
	positive := func(v Value) ErrorStatus {
		if v.Int < 0 {
			return WrongValue
		}
		return NoError
	}
	list := []Object{
		{Name: name(3, 2, 0), Type: TypeInteger, Check: positive, Write: w.write(&w.b),
			Get: func() Value { return Integer(w.b) }},
		{Name: name(3, 1, 0), Type: TypeInteger, Check: positive, Write: w.write(&w.a),
			Get: func() Value { return Integer(w.a) }},
		{Name: name(1, 1, 0), Type: TypeInteger, Get: func() Value { return Integer(w.status) }},
		{Name: name(1, 2, 0), Type: TypeCounter32, Get: func() Value { return Counter32(w.counter) }},
		{Name: name(1, 3, 0), Type: TypeOctetString, Get: func() Value { return Text(w.text) }},
		{Name: name(1, 4, 0), Type: TypeCounter64, Get: func() Value { return Counter64(w.long) }},
		{Name: name(4, 1, 0), Type: TypeInteger, Write: func(Value) error { return nil }},
	}
	for i := uint32(1); i <= 4; i++ {
		list = append(list, Object{Name: name(2, 1, i), Type: TypeInteger,
			Get: func() Value { return Integer(int32(i) * 1000) }})
	}
	return list
}

func (w *world) agent(t testing.TB) *Agent {
	t.Helper()
	a, err := NewAgent(AgentOptions{ReadCommunity: "watch", WriteCommunity: "steer",
		CheckSet: func(set []Binding) (ErrorStatus, int) {
			if w.block {
				return InconsistentValue, len(set) - 1
			}
			return NoError, 0
		},
		Committed: func(set []Binding) { w.told = append(w.told, set) }}, w.objects())
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func ask(t testing.TB, a *Agent, m Message) *Message {
	t.Helper()
	if m.Community == "" {
		m.Community = "watch"
	}
	m.RequestID = 7
	wire, err := m.Append(nil)
	if err != nil {
		t.Fatal(err)
	}
	out := a.Respond(nil, wire)
	if len(out) == 0 {
		return nil
	}
	back, err := Decode(out)
	if err != nil || back.Kind != Response || back.RequestID != 7 || back.Community != m.Community {
		t.Fatalf("response %+v, %v", back, err)
	}
	return back
}

func nulls(names ...OID) []Binding {
	var list []Binding
	for _, n := range names {
		list = append(list, Binding{n, Null()})
	}
	return list
}

func said(m *Message) string {
	var b strings.Builder
	b.WriteString(m.Status.String())
	for _, v := range m.Bindings {
		short := strings.TrimPrefix(v.Name.String(), base.String()+".")
		b.WriteString(" " + short + "=" + v.Value.String())
	}
	return b.String()
}

// RFC 3416 section 4.2.1: an unknown variable is an exception, no error, and the
// others are filled.
func TestAgent_Get(t *testing.T) {
	w := &world{status: 5, counter: 9, text: "v1"}
	got := said(ask(t, w.agent(t), Message{PDU: PDU{Kind: Get, Bindings: nulls(
		name(1, 1, 0), name(9, 9, 0), name(1, 2, 1), name(1, 3, 0),
		name(2, 1, 5), name(1, 2), name(4, 1, 0))}}))
	want := `noError 1.1.0=5 9.9.0=noSuchObject 1.2.1=noSuchInstance 1.3.0="v1"` +
		` 2.1.5=noSuchInstance 1.2=noSuchInstance 4.1.0=noSuchObject`
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// RFC 3416 section 4.2.2: past the end the name stays and the value is endOfMibView.
func TestAgent_GetNext(t *testing.T) {
	w := &world{status: 5}
	a := w.agent(t)
	got := said(ask(t, a, Message{PDU: PDU{Kind: GetNext, Bindings: nulls(
		OID{1, 3}, name(1, 1, 0), name(2, 1), name(2, 1, 4), name(3, 2, 0), OID{2, 5})}}))
	want := "noError 1.1.0=5 1.2.0=0 2.1.1=1000 3.1.0=0 3.2.0=endOfMibView 2.5=endOfMibView"
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// RFC 3416 section 4.2.3: N variables once, then M repetitions of the rest;
// stopped early when a whole repetition is endOfMibView.
func TestAgent_GetBulk(t *testing.T) {
	w := &world{}
	a := w.agent(t)
	for _, c := range []struct {
		once, times int
		names       []OID
		want        string
	}{
		{1, 2, []OID{name(1, 1), name(2, 1), name(2, 1, 3)},
			"noError 1.1.0=0 2.1.1=1000 2.1.4=4000 2.1.2=2000 3.1.0=0"},
		{0, 9, []OID{name(2, 1, 4)}, "noError 3.1.0=0 3.2.0=0 3.2.0=endOfMibView"},
		{5, 9, []OID{name(2, 1)}, "noError 2.1.1=1000"},
		{0, 0, []OID{name(2, 1)}, "noError"},
		{0, 1 << 30, []OID{OID{2, 1}}, "noError 2.1=endOfMibView"},
	} {
		got := said(ask(t, a, Message{PDU: PDU{Kind: GetBulk, NonRepeaters: c.once,
			MaxRepetitions: c.times, Bindings: nulls(c.names...)}}))
		got = strings.ReplaceAll(got, OID{2, 1}.String()+"=", "2.1=")
		if got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
}

// RFC 3416 sections 4.2.1 and 4.2.3: what does not fit is tooBig with index 0 and
// no variables; a GetBulk returns fewer repetitions.
func TestAgent_TooBig(t *testing.T) {
	w := &world{text: strings.Repeat("x", 1000)}
	a := w.agent(t)
	m := ask(t, a, Message{PDU: PDU{Kind: Get, Bindings: nulls(name(1, 3, 0), name(1, 3, 0))}})
	if m.Status != TooBig || m.Index != 0 || len(m.Bindings) != 0 {
		t.Errorf("Get: %s, index %d", said(m), m.Index)
	}
	m = ask(t, a, Message{PDU: PDU{Kind: GetBulk, MaxRepetitions: 4,
		Bindings: nulls(name(1, 2, 0), name(1, 2, 0))}})
	if m.Status != NoError || len(m.Bindings) != 1 {
		t.Errorf("GetBulk: %d variables, %v", len(m.Bindings), m.Status)
	}
}

// RFC 3416 section 4.2.5, one row per clause that the agent can meet.
func TestAgent_SetRefusals(t *testing.T) {
	good := Binding{name(3, 1, 0), Integer(4)}
	for _, c := range []struct {
		clause    string
		community string
		second    Binding
		status    ErrorStatus
		index     int
	}{
		{"(1) not in the view that may be written", "watch", good, NoAccess, 1},
		{"(2) no such object", "steer", Binding{name(9, 9, 0), Integer(1)}, NotWritable, 2},
		{"(2) read-only", "steer", Binding{name(1, 1, 0), Integer(1)}, NotWritable, 2},
		{"(3) type", "steer", Binding{name(3, 2, 0), Text("x")}, WrongType, 2},
		{"(3) type: no silent conversion", "steer", Binding{name(3, 2, 0), Gauge32(1)}, WrongType, 2},
		{"(6) value", "steer", Binding{name(3, 2, 0), Integer(-1)}, WrongValue, 2},
		{"(7) no such instance", "steer", Binding{name(3, 2, 7), Integer(1)}, NoCreation, 2},
		{"(10) twice", "steer", good, InconsistentValue, 2},
	} {
		w := &world{}
		m := ask(t, w.agent(t), Message{Community: c.community, PDU: PDU{Kind: Set,
			Bindings: []Binding{good, c.second}}})
		if m.Status != c.status || m.Index != c.index {
			t.Errorf("%s: %v, index %d", c.clause, m.Status, m.Index)
		}
		if w.a != 0 || w.writes != 0 || len(w.told) != 0 {
			t.Errorf("%s: something was written", c.clause)
		}
		if len(m.Bindings) != 2 || !equalValues(&m.Bindings[1].Value, &c.second.Value) {
			t.Errorf("%s: variables %s", c.clause, said(m))
		}
	}
}

func TestAgent_SetAsAWhole(t *testing.T) {
	w := &world{}
	a := w.agent(t)
	set := Message{Community: "steer", PDU: PDU{Kind: Set, Bindings: []Binding{
		{name(3, 1, 0), Integer(4)}, {name(3, 2, 0), Integer(6)}}}}
	if m := ask(t, a, set); m.Status != NoError || w.a != 4 || w.b != 6 || len(w.told) != 1 {
		t.Errorf("%s, a %d, b %d, told %d", said(m), w.a, w.b, len(w.told))
	}
	w.block = true
	set.Bindings = []Binding{{name(3, 1, 0), Integer(1)}, {name(3, 2, 0), Integer(1)}}
	if m := ask(t, a, set); m.Status != InconsistentValue || m.Index != 2 || w.a != 4 || w.b != 6 {
		t.Errorf("%s index %d, a %d, b %d", said(m), m.Index, w.a, w.b)
	}
}

// RFC 3416 section 4.2.5: a failed assignment undoes the others, commitFailed with
// its index; when the undoing fails, undoFailed with index 0.
func TestAgent_SetUndo(t *testing.T) {
	set := Message{Community: "steer", PDU: PDU{Kind: Set, Bindings: []Binding{
		{name(3, 1, 0), Integer(4)}, {name(3, 2, 0), Integer(6)}}}}
	w := &world{a: 1, b: 2, fail: 2}
	m := ask(t, w.agent(t), set)
	if m.Status != CommitFailed || m.Index != 2 || w.a != 1 || w.b != 2 {
		t.Errorf("%s index %d, a %d, b %d", said(m), m.Index, w.a, w.b)
	}
	if len(w.told) != 0 {
		t.Error("a failed Set was told of")
	}
	set.Bindings[0] = Binding{name(4, 1, 0), Integer(1)} // cannot be read, so not undone
	w = &world{fail: 1}
	if m := ask(t, w.agent(t), set); m.Status != UndoFailed || m.Index != 0 {
		t.Errorf("%s index %d", said(m), m.Index)
	}
}

// RFC 3416 section 4 and RFC 3584: no response to a wrong community, to another
// version, or to what is no request.
func TestAgent_Silence(t *testing.T) {
	w := &world{}
	a := w.agent(t)
	for _, m := range []Message{
		{"other", PDU{Kind: Get}}, {"watch2", PDU{Kind: Get}},
		{"watch", PDU{Kind: Response}}, {"watch", PDU{Kind: TrapV2}},
	} {
		if got := ask(t, a, m); got != nil {
			t.Errorf("%v: %s", m.Kind, said(got))
		}
	}
	v1 := octets(t, "30 11 02 01 00 04 01 63 a0 09 02 01 01 02 01 00 02 01 00")
	if out := a.Respond(nil, v1); len(out) != 0 || a.Counters.BadVersions != 1 {
		t.Errorf("version 1: % x, %+v", out, a.Counters)
	}
	if out := a.Respond(nil, []byte("GET / HTTP/1.1")); len(out) != 0 || a.Counters.Malformed != 1 {
		t.Errorf("other protocol: % x, %+v", out, a.Counters)
	}
	if a.Counters.BadCommunities != 2 || a.Counters.Unanswerable != 2 {
		t.Errorf("%+v", a.Counters)
	}
}

func TestNewAgent_Refuses(t *testing.T) {
	long := strings.Repeat("c", 128)
	for what, o := range map[string]AgentOptions{
		"no community":         {},
		"long read community":  {ReadCommunity: long},
		"long write community": {ReadCommunity: "a", WriteCommunity: long},
		"equal communities":    {ReadCommunity: "a", WriteCommunity: "a"},
		"size below 484":       {ReadCommunity: "a", SizeMax: 483},
	} {
		if _, err := NewAgent(o, nil); err == nil {
			t.Errorf("%s taken", what)
		}
	}
	x := Object{Name: name(1, 0), Type: TypeInteger}
	if _, err := NewAgent(AgentOptions{ReadCommunity: "a"}, []Object{x, x}); err == nil {
		t.Error("one object twice taken")
	}
}
