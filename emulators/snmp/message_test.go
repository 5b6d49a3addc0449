package snmp

import (
	"bytes"
	"encoding/hex"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func octets(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func oid(t testing.TB, text string) OID {
	t.Helper()
	o, err := ParseOID(text)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// A Get of sysUpTime.0, written out by hand by the rules of X.690 (definite
// lengths, shortest integers) from the ASN.1 of RFC 3416 section 3 and RFC 1901.
const handGet = "30 26 02 01 01 04 06 70 75 62 6c 69 63" +
	"a0 19 02 01 01 02 01 00 02 01 00" +
	"30 0e 30 0c 06 08 2b 06 01 02 01 01 03 00 05 00"

const noCommunity = "30 12 02 01 01 04 00 a0 0b 02 01 01 02 01 00 02 01 00 30 00"

func TestMessage_HandEncodedGet(t *testing.T) {
	m := &Message{Community: "public", PDU: PDU{Kind: Get, RequestID: 1,
		Bindings: []Binding{{SysUpTime(), Null()}}}}
	got, err := m.Append(nil)
	if err != nil || !bytes.Equal(got, octets(t, handGet)) {
		t.Fatalf("got % x, %v", got, err)
	}
	back, err := Decode(octets(t, handGet))
	if err != nil || !cmp.Equal(back, m) {
		t.Fatalf("decoded %+v, %v", back, err)
	}
}

// X.690 8.19 encodings of well-known names: computed apart in the sheet of check
// values, and RFC 5612's 32473 as three base-128 octets 81 fd 59.
func TestMessage_ObjectIdentifierOctets(t *testing.T) {
	for name, want := range map[string]string{
		"1.3.6.1.2.1.1.3.0":       "06 08 2b 06 01 02 01 01 03 00",
		"1.3.6.1.6.3.1.1.4.1.0":   "06 0a 2b 06 01 06 03 01 01 04 01 00",
		"1.3.6.1.6.3.1.1.5.1":     "06 09 2b 06 01 06 03 01 01 05 01",
		"1.3.6.1.4.1.32473":       "06 08 2b 06 01 04 01 81 fd 59",
		"1.3.4294967295":          "06 06 2b 8f ff ff ff 7f",
		"2.999.3":                 "06 03 88 37 03", // X.690 8.19.5 example
		".1.3.6.1.4.1.32473.1":    "06 09 2b 06 01 04 01 81 fd 59 01",
		"0.39.128.16384.2097152":  "06 0a 27 81 00 81 80 00 81 80 80 00",
		"1.0.127.16383.268435455": "06 08 28 7f ff 7f ff ff ff 7f",
	} {
		m := &Message{Community: "c", PDU: PDU{Kind: Get, Bindings: []Binding{{oid(t, name), Null()}}}}
		got, err := m.Append(nil)
		if err != nil || !bytes.Contains(got, octets(t, want)) {
			t.Errorf("%s: % x, %v", name, got, err)
		}
		back, err := Decode(got)
		if err != nil || !back.Bindings[0].Name.Equal(oid(t, name)) {
			t.Errorf("%s decoded as %v, %v", name, back, err)
		}
	}
}

// RFC 3416 section 4.1: at most 128 sub-identifiers, each at most 2^32-1.
func TestMessage_ObjectIdentifierBounds(t *testing.T) {
	longest := "1.3" + strings.Repeat(".1", 126)
	if _, err := ParseOID(longest); err != nil {
		t.Errorf("128 sub-identifiers: %v", err)
	}
	for _, bad := range []string{
		longest + ".1", "1.3.4294967296", "1", "", "1.40", "3.1", "1..3", "1.-3",
	} {
		if _, err := ParseOID(bad); err == nil {
			t.Errorf("%.20q was taken", bad)
		}
	}
	wire := func(contents []byte) []byte {
		name := append(appendHeader(nil, 0x06, len(contents)), contents...)
		vb := append(appendHeader(nil, 0x30, len(name)+2), append(name, 5, 0)...)
		list := append(appendHeader(nil, 0x30, len(vb)), vb...)
		pdu := append([]byte{2, 1, 1, 2, 1, 0, 2, 1, 0}, list...)
		body := append([]byte{2, 1, 1, 4, 1, 'c'}, appendHeader(nil, 0xa0, len(pdu))...)
		body = append(body, pdu...)
		return append(appendHeader(nil, 0x30, len(body)), body...)
	}
	ones := bytes.Repeat([]byte{1}, 127)
	if _, err := Decode(wire(append([]byte{0x2b}, ones[:126]...))); err != nil {
		t.Errorf("128 sub-identifiers on the wire: %v", err)
	}
	for name, contents := range map[string][]byte{
		"129 sub-identifiers": append([]byte{0x2b}, ones...),
		"2^32":                {0x2b, 0x90, 0x80, 0x80, 0x80, 0x00},
		"cut off":             {0x2b, 0x81},
		"none":                {},
	} {
		if _, err := Decode(wire(contents)); !errors.Is(err, ErrMalformed) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestMessage_EveryTypeThereAndBack(t *testing.T) {
	name := oid(t, "1.3.6.1.4.1.32473.9.1.0")
	values := []Value{
		Integer(0), Integer(127), Integer(128), Integer(-1), Integer(-128), Integer(-129),
		Integer(-1 << 31), Integer(1<<31 - 1),
		Counter32(0), Counter32(1<<32 - 1), Gauge32(1 << 31), {Type: TypeTimeTicks, Int: 1<<32 - 1},
		Counter64(0), Counter64(1<<64 - 1), Counter64(1 << 63), Text(""), Text(strings.Repeat("x", 300)),
		Identifier(name), {Type: TypeIPAddress, Octets: []byte{192, 0, 2, 1}}, Null(),
		{Type: NoSuchObject}, {Type: NoSuchInstance}, {Type: EndOfMibView},
	}
	for _, v := range values {
		for _, id := range []int32{0, 1, -1, -128, -129, 1<<31 - 1, -1 << 31, 1 << 24} {
			m := &Message{Community: "c", PDU: PDU{Kind: Response, RequestID: id,
				Bindings: []Binding{{name, v}, {name, v}}}}
			wire, err := m.Append(nil)
			if err != nil {
				t.Fatalf("%v: %v", v, err)
			}
			back, err := Decode(wire)
			if err != nil || !sameMessage(back, m) {
				t.Errorf("%v, id %d: %+v, %v", v, id, back, err)
			}
		}
	}
}

// sameMessage compares what is said: empty and absent octets are the same.
func sameMessage(a, b *Message) bool {
	if len(a.Bindings) != len(b.Bindings) {
		return false
	}
	for i := range a.Bindings {
		if !a.Bindings[i].Name.Equal(b.Bindings[i].Name) ||
			!equalValues(&a.Bindings[i].Value, &b.Bindings[i].Value) {
			return false
		}
	}
	c, d := *a, *b
	c.Bindings, d.Bindings = nil, nil
	return cmp.Equal(c, d)
}

// The codec writes the community's length in one octet: 128 and more would be
// read as a long form of length.
func TestMessage_CommunityOver127Refused(t *testing.T) {
	for n, want := range map[int]error{
		0: ErrCommunity, 1: nil, 127: nil, 128: ErrCommunity, 300: ErrCommunity,
	} {
		m := &Message{Community: strings.Repeat("c", n), PDU: PDU{Kind: Get}}
		if _, err := m.Append(nil); !errors.Is(err, want) {
			t.Errorf("%d octets: %v", n, err)
		}
	}
}

func TestDecode_RefusesWhatIsNoMessage(t *testing.T) {
	good := octets(t, handGet)
	for n := range good {
		if _, err := Decode(good[:n]); err == nil {
			t.Errorf("first %d octets taken", n)
		}
	}
	instead := func(old, changed string) string { return strings.Replace(handGet, old, changed, 1) }
	for name, c := range map[string]struct {
		wire string
		want error
	}{
		"trailing octet":      {handGet + "00", ErrMalformed},
		"version 1":           {instead("02 01 01 04", "02 01 00 04"), ErrVersion},
		"indefinite length":   {instead("30 26", "30 80"), ErrMalformed},
		"version 1 trap PDU":  {instead("a0 19", "a4 19"), ErrMalformed},
		"report PDU":          {instead("a0 19", "a8 19"), ErrMalformed},
		"value past variable": {instead("05 00", "05 01"), ErrMalformed},
		"null with contents": {instead("08 2b 06 01 02 01 01 03 00 05 00",
			"07 2b 06 01 02 01 01 03 05 01 00"), ErrMalformed},
		"error-status unknown": {instead("01 00 02 01 00", "01 13 02 01 00"), ErrMalformed},
		"empty community":      {noCommunity, ErrCommunity},
	} {
		if _, err := Decode(octets(t, c.wire)); !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func FuzzDecode(f *testing.F) {
	f.Add(octets(f, handGet))
	f.Add(octets(f, strings.Replace(handGet, "a0 19", "a5 19", 1)))
	f.Add(octets(f, strings.Replace(handGet, "a0 19", "a7 19", 1)))
	f.Fuzz(func(t *testing.T, wire []byte) {
		m, err := Decode(wire)
		if err != nil {
			return
		}
		if m.Kind == GetBulk {
			m.NonRepeaters = min(m.NonRepeaters, 255)
		}
		again, err := m.Append(nil)
		if err != nil {
			return // a name that the codec reads but cannot write
		}
		back, err := Decode(again)
		if err != nil || !sameMessage(back, m) {
			t.Fatalf("% x: %+v became %+v, %v", wire, m, back, err)
		}
		if n, err := m.Notification(); err == nil {
			if !sameMessage(n.Message(m.Community, m.RequestID), m) {
				t.Fatalf("% x: notification %+v", wire, n)
			}
		}
	})
}

// A header that is known is taken as it was, and nothing else is taken for it.
func TestLastHeader_IsScanHeader(t *testing.T) {
	message := func(community, pdu string) []byte {
		return header{[]byte(community)}.append(nil, []byte(pdu))
	}
	var last lastHeader
	other := message("watch", "abcd")
	other[4]++ // another version
	for _, m := range [][]byte{nil, {}, message("watch", "abcd"), message("watch", "efgh"),
		message("match", "efgh"), message("watch", "abc"), message("steer", "abcd"), other,
		message("watch", "abcd"), message("", "abcd")} {
		h, pdu, err := last.scan(m)
		want, wantPDU, wantErr := scanHeader(m)
		if string(h.community) != string(want.community) && err == nil ||
			string(pdu) != string(wantPDU) && err == nil || err != wantErr {
			t.Errorf("%x: %q %q %v, want %q %q %v", m, h.community, pdu, err, want.community, wantPDU,
				wantErr)
		}
	}
}
