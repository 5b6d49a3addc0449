package snmp

import (
	"strings"
	"testing"

	"haltmark/bench/seed"
)

// What is patched must be what the codec would have written.
func TestAgent_PatchedEqualsEncoded(t *testing.T) {
	w := &world{text: "abc"}
	patching := w.agent(t)
	draw := seed.Seed(1).Stream("patched responses")
	patched := 0
	for n := range 8000 {
		if n%8 == 0 { // lengths that last for a while, as in life
			w.status = int32(draw.Uint64()) >> (8 * draw.IntN(4))
			w.counter = uint32(draw.Uint64()) >> (8 * draw.IntN(4))
			w.long = draw.Uint64() >> (8 * draw.IntN(3))
		}
		w.status, w.counter = w.status^int32(draw.IntN(64)), w.counter+uint32(draw.IntN(9))
		w.text = strings.Repeat("t", n/8%3) + string(rune('a'+draw.IntN(3)))
		request := Message{Community: "watch", PDU: PDU{Kind: Get,
			RequestID: int32(draw.Uint64()) >> (16 * draw.IntN(2)),
			Bindings:  nulls(name(1, 1, 0), name(1, 2, 0))}}
		if n%3 == 0 {
			request.Bindings = nulls(name(1, 3, 0), name(1, 4, 0), name(2, 1, 3))
		}
		comparePatched(t, w, patching, request, &patched)
	}
	if patched < 1000 {
		t.Errorf("only %d responses were patched", patched)
	}
}

// scanned is the PDU of a message, and where its parts lie.
func scanned(wire []byte) (pdu []byte, f frame, err error) {
	if _, pdu, err = scanHeader(wire); err == nil {
		f, err = scanPDU(pdu)
	}
	return pdu, f, err
}

func comparePatched(t testing.TB, w *world, patching *Agent, request Message, patched *int) {
	wire, err := request.Append(nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range patching.templates {
		if _, pdu, _ := scanHeader(wire); k != nil && k.matches(pdu) {
			if _, ok := k.answer(pdu); ok {
				*patched++
			}
		}
	}
	got, want := patching.Respond(nil, wire), w.agent(t).Respond(nil, wire)
	if string(got) != string(want) {
		t.Fatalf("request % x\npatched % x\nencoded % x", wire, got, want)
	}
}

// A request-id in more octets than it needs is answered in the shortest form, kept
// exchange or not (X.690 8.3.2).
func TestAgent_LongRequestID(t *testing.T) {
	w := &world{}
	a := w.agent(t)
	wire := mustPoll(t, name(1, 1, 0)).AppendRequest(nil, 1<<24)
	a.Respond(nil, wire) // kept
	pdu, f, err := scanned(wire)
	if err != nil {
		t.Fatal(err)
	}
	copy(pdu[f.id:f.idEnd], []byte{0, 0, 0, 5})
	got := a.Respond(nil, wire)
	_, f, err = scanned(got)
	if err != nil || f.requestID != 5 || f.idEnd-f.id != 1 {
		t.Errorf("% x, %v", got, err)
	}
}

// A PDU is the same under every header: what is kept of an exchange answers whoever may
// ask, under his own header, and nobody else.
func TestAgent_KeptExchangeStillAsksWho(t *testing.T) {
	w := &world{status: 5, counter: 9}
	a := w.agent(t)
	get := Message{"watch", PDU{Kind: Get, RequestID: 1 << 24, Bindings: nulls(name(1, 1, 0))}}
	for _, community := range []string{"watch", "steer", "other", "watch2", "watch"} {
		get.Community = community
		wire, err := get.Append(nil)
		if err != nil {
			t.Fatal(err)
		}
		got, want := a.Respond(nil, wire), w.agent(t).Respond(nil, wire)
		if string(got) != string(want) {
			t.Errorf("%s: answered % x, an agent that keeps nothing % x", community, got, want)
		}
		if known := community == "watch" || community == "steer"; known != (len(got) > 0) {
			t.Errorf("%s: % x", community, got)
		}
	}
	if a.templates[1] != nil {
		t.Error("the exchange is kept once for each community")
	}
}

// RFC 3416 section 3: non-repeaters may be up to 2^31-1. 256 is not 0.
func TestAgent_ManyNonRepeaters(t *testing.T) {
	w := &world{}
	m := Message{Community: "watch", PDU: PDU{Kind: GetBulk, RequestID: 7, NonRepeaters: 100,
		MaxRepetitions: 3, Bindings: nulls(name(2, 1))}}
	wire, err := m.Append(nil)
	if err != nil {
		t.Fatal(err)
	}
	// 02 01 64 becomes 02 02 01 00, and every length around it one more.
	at := strings.Index(string(wire), "\x02\x01\x64")
	pdu, _, err := scanned(wire)
	if err != nil || at < 0 {
		t.Fatal(err)
	}
	long := append(append(append([]byte{}, wire[:at]...), 2, 2, 1, 0), wire[at+3:]...)
	long[1]++
	long[len(wire)-len(pdu)+1]++
	back, err := Decode(w.agent(t).Respond(nil, long))
	if err != nil || len(back.Bindings) != 1 {
		t.Errorf("%+v, %v", back, err)
	}
}

// FuzzAgent sends the same bytes, then the same with other request-id and values,
// to an agent that keeps exchanges and to fresh ones.
func FuzzAgent(f *testing.F) {
	f.Add(octets(f, handGet), uint32(1), int32(2), "x")
	for _, k := range []Kind{Get, GetNext, GetBulk, Set} {
		m := Message{Community: "watch", PDU: PDU{Kind: k, RequestID: 1 << 24, MaxRepetitions: 3,
			Bindings: nulls(name(1, 1, 0), name(1, 2, 0))}}
		if k == Set {
			m.Community, m.Bindings = "steer", []Binding{{name(3, 1, 0), Integer(4)}}
		}
		wire, err := m.Append(nil)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(wire, uint32(1), int32(2), "x")
	}
	f.Fuzz(func(t *testing.T, wire []byte, counter uint32, status int32, text string) {
		w := &world{}
		a := w.agent(t)
		for n := range uint32(4) {
			got, want := a.Respond(nil, wire), w.agent(t).Respond(nil, wire)
			if string(got) != string(want) {
				t.Fatalf("round %d: % x\nkept  % x\nfresh % x", n, wire, got, want)
			}
			w.counter, w.status = counter+n, status-int32(n)
			w.text = text[:min(len(text), int(n))]
			if pdu, fr, err := scanned(wire); err == nil && fr.idEnd-fr.id == 4 {
				pdu[fr.idEnd-1]++
			}
		}
	})
}
