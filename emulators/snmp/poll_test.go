package snmp

import (
	"errors"
	"testing"
	"time"
)

func TestPoll_FollowsTheAgent(t *testing.T) {
	w := &world{status: 3, text: "v1"}
	a := w.agent(t)
	p, err := NewPoll("watch", []OID{name(1, 1, 0), name(1, 2, 0), name(1, 3, 0)})
	if err != nil {
		t.Fatal(err)
	}
	var ids RequestIDs
	for n := range uint32(70000) {
		w.counter = n * 997
		if n%1000 == 0 {
			w.status, w.text = int32(n)*-7, string(rune('a'+n/1000%26))
		}
		id := ids.Next()
		changed, err := p.Decode(a.Respond(nil, p.AppendRequest(nil, id)), id)
		if err != nil || !changed {
			t.Fatalf("%d: changed %v, %v", n, changed, err)
		}
		v := p.Values()
		if v[0].Int != int64(w.status) || uint32(v[1].Int) != w.counter || string(v[2].Octets) != w.text {
			t.Fatalf("%d: %v", n, v)
		}
	}
	id := ids.Next()
	if changed, err := p.Decode(a.Respond(nil, p.AppendRequest(nil, id)), id); changed || err != nil {
		t.Errorf("nothing changed: %v, %v", changed, err)
	}
}

func TestPoll_TakesOnlyItsOwnResponse(t *testing.T) {
	w := &world{}
	a := w.agent(t)
	p, err := NewPoll("watch", []OID{name(1, 1, 0)})
	if err != nil {
		t.Fatal(err)
	}
	const id = 1 << 25
	good := a.Respond(nil, p.AppendRequest(nil, id))
	for round := range 2 { // before and after a response of this shape was seen
		if _, err := p.Decode(good, id+1); !errors.Is(err, ErrNotMine) {
			t.Errorf("round %d, old response: %v", round, err)
		}
		if _, err := p.Decode(p.AppendRequest(nil, id), id); !errors.Is(err, ErrNotMine) {
			t.Errorf("round %d, request: %v", round, err)
		}
		if _, err := p.Decode(good, id); err != nil {
			t.Errorf("round %d: %v", round, err)
		}
	}
	var refused *StatusError
	no := &Message{"watch", PDU{Kind: Response, RequestID: id, Status: GenErr, Index: 1}}
	wire, err := no.Append(nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err = p.Decode(wire, id); !errors.As(err, &refused) || refused.Status != GenErr {
		t.Errorf("refusal: %v", err)
	}
	other := a.Respond(nil, mustPoll(t, name(1, 2, 0)).AppendRequest(nil, id))
	if _, err = p.Decode(other, id); !errors.Is(err, ErrMalformed) {
		t.Errorf("another object: %v", err)
	}
}

// A Counter32 above 2^32-1 is malformed, also in a response of a known shape.
func TestPoll_RefusesWhatNoCounterHolds(t *testing.T) {
	w := &world{counter: 1 << 31} // five octets, the first of them 0
	a, p := w.agent(t), mustPoll(t, name(1, 2, 0))
	const id = 1 << 25
	good := a.Respond(nil, p.AppendRequest(nil, id))
	if _, err := p.Decode(good, id); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Decode(flipped(good, len(good)-5, 1), id); !errors.Is(err, ErrMalformed) {
		t.Errorf("2^32 and more: %v", err)
	}
	if p.Values()[0].Int != 1<<31 {
		t.Errorf("value %v", p.Values()[0])
	}
}

func mustPoll(t testing.TB, names ...OID) *Poll {
	t.Helper()
	p, err := NewPoll("watch", names)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestRequestIDs_StayFourOctets(t *testing.T) {
	var ids RequestIDs
	ids.Skip(1<<31 - 1<<24 - 2)
	for range 4 {
		if id := ids.Next(); id < 1<<24 {
			t.Errorf("identifier %d", id)
		}
	}
}

// FuzzPoll feeds datagrams to a poll that has seen a response and to one that has
// not: both must say the same.
func FuzzPoll(f *testing.F) {
	w := &world{counter: 1 << 20, text: "abc"}
	a := w.agent(f)
	names := []OID{name(1, 1, 0), name(1, 2, 0), name(1, 3, 0)}
	const id = 1<<24 + 77
	good := a.Respond(nil, mustPoll(f, names...).AppendRequest(nil, id))
	f.Add(good, 0, byte(0))
	f.Add(good, 70, byte(0xff))
	f.Fuzz(func(t *testing.T, wire []byte, at int, flip byte) {
		used := mustPoll(t, names...)
		if _, err := used.Decode(good, id); err != nil {
			t.Fatal(err)
		}
		for _, datagram := range [][]byte{wire, flipped(good, at, flip), flipped(wire, at, flip), good} {
			fresh := mustPoll(t, names...)
			_, e1 := used.Decode(datagram, id)
			_, e2 := fresh.Decode(datagram, id)
			if (e1 == nil) != (e2 == nil) {
				t.Fatalf("% x: %v, %v", datagram, e1, e2)
			}
			for i := range names {
				if e1 == nil && !equalValues(&used.Values()[i], &fresh.Values()[i]) {
					t.Fatalf("% x: value %d: %v, %v", datagram, i, used.Values()[i], fresh.Values()[i])
				}
			}
		}
	})
}

func flipped(wire []byte, at int, flip byte) []byte {
	out := append([]byte{}, wire...)
	if len(out) > 0 {
		out[uint(at)%uint(len(out))] ^= flip
	}
	return out
}

// RFC 3416 section 4.2.6: sysUpTime.0 first, snmpTrapOID.0 second.
func TestNotification_ThereAndBack(t *testing.T) {
	n := &Notification{UpTime: 1230 * time.Millisecond, Name: name(4, 0, 1),
		Bindings: []Binding{{name(1, 1, 0), Integer(6)}}}
	for _, n.Inform = range []bool{false, true} {
		wire, err := n.Message("watch", 5).Append(nil)
		if err != nil {
			t.Fatal(err)
		}
		m, err := Decode(wire)
		if err != nil {
			t.Fatal(err)
		}
		back, err := m.Notification()
		if err != nil || back.UpTime != n.UpTime || !back.Name.Equal(n.Name) ||
			len(back.Bindings) != 1 || back.Inform != n.Inform {
			t.Errorf("%+v, %v", back, err)
		}
		if m.Bindings[0].Value.Int != 123 {
			t.Errorf("up 1.23 s as %v hundredths", m.Bindings[0].Value)
		}
		// Section 4.2.7: noError, same request-id and variables.
		if ack := m.Acknowledge(); ack.Kind != Response || ack.RequestID != 5 ||
			ack.Status != NoError || len(ack.Bindings) != 3 {
			t.Errorf("acknowledged by %+v", ack)
		}
		ticks := m.Bindings[0].Value
		m.Bindings[0].Value = Gauge32(123)
		if _, err := m.Notification(); !errors.Is(err, ErrMalformed) {
			t.Errorf("sysUpTime of another type: %v", err)
		}
		m.Bindings[0].Value = ticks
		m.Bindings[0], m.Bindings[1] = m.Bindings[1], m.Bindings[0]
		if _, err := m.Notification(); !errors.Is(err, ErrMalformed) {
			t.Errorf("wrong order: %v", err)
		}
	}
}

// BenchmarkPoll is a whole steady poll, agent and manager: status and counter.
func BenchmarkPoll(b *testing.B) {
	w := &world{status: 0x10506, counter: 1 << 20}
	a, p := w.agent(b), mustPoll(b, name(1, 1, 0), name(1, 2, 0))
	var ids RequestIDs
	var request, response []byte
	b.ReportAllocs()
	for b.Loop() {
		w.counter++
		id := ids.Next()
		request = p.AppendRequest(request[:0], id)
		response = a.Respond(response[:0], request)
		if _, err := p.Decode(response, id); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCodec is the same exchange with everything encoded and decoded.
func BenchmarkCodec(b *testing.B) {
	w := &world{status: 0x10506, counter: 1 << 20}
	a := w.agent(b)
	b.ReportAllocs()
	for b.Loop() {
		w.counter++
		a.templates = [4]*template{}
		m := ask(b, a, Message{PDU: PDU{Kind: Get, Bindings: nulls(name(1, 1, 0), name(1, 2, 0))}})
		if m.Status != NoError {
			b.Fatal(m)
		}
	}
}
