package modbus

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// identities are those that identity.txt describes.
func identities(t testing.TB) map[string]*Identity {
	t.Helper()
	basic := []Object{{2, "V2.11"}, {0, "Nobody"}, {1, "P-1"}}
	plain, err := NewIdentity(true, basic...)
	if err != nil {
		t.Fatal(err)
	}
	full, err := NewIdentity(false, append(basic, Object{0x80, "axis"}, Object{4, "Scale"})...)
	if err != nil {
		t.Fatal(err)
	}
	return map[string]*Identity{"plain": plain, "full": full}
}

func TestRespond_Identification(t *testing.T) {
	units := identities(t)
	for _, v := range vectors(t, "identity.txt") {
		who, _, _ := strings.Cut(v.name, " ")
		s := &Server{}
		s.Attach(UnitDirect, &Unit{Bank: &memory{}, Identity: units[who]})
		got := s.Respond(nil, message(header, v.request))
		if want := message(header, v.reply); !bytes.Equal(got, want) {
			t.Errorf("%s (%s): % X, want % X", v.name, v.source, got, want)
		}
	}
}

// AP clause 6.21: a reply that would pass 253 bytes says FF and the object to
// go on with.
func TestIdentification_GoesOnInAnotherReply(t *testing.T) {
	want := []Object{{0, strings.Repeat("a", 100)}, {1, strings.Repeat("b", 140)}, {2, "c"},
		{3, strings.Repeat("d", 244)}, {0x80, "e"}}
	id, err := NewIdentity(false, want...)
	if err != nil {
		t.Fatal(err)
	}
	s := &Server{}
	s.Attach(UnitDirect, &Unit{Bank: &memory{}, Identity: id})
	var got []Object
	next, counts := byte(0), []int{}
	for more := true; more; {
		request := AppendReadIdentity(nil, header, AccessExtended, next)
		reply := s.Respond(nil, request)
		if len(reply) > ADUMax {
			t.Fatalf("reply of %d bytes, at most %d", len(reply), ADUMax)
		}
		data, err := Decode(request, reply)
		if err != nil {
			t.Fatal(err)
		}
		part, err := DecodeIdentity(data)
		if err != nil {
			t.Fatal(err)
		}
		if part.Conformity != 0x83 {
			t.Errorf("conformity %02X, want 83", part.Conformity)
		}
		if more = part.More; !more && part.Next != 0 {
			t.Errorf("next object %d of a last reply, want 0 (AP p. 44)", part.Next)
		}
		next = part.Next
		counts = append(counts, len(part.Objects))
		got = append(got, part.Objects...)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	// 7 + 102 + 142 = 251 bytes leave no room for 3 more; 3 + 246 would pass 246.
	if diff := cmp.Diff([]int{2, 1, 1, 1}, counts); diff != "" {
		t.Error(diff)
	}
}

func TestDecodeIdentity_RefusesWhatIsCutShort(t *testing.T) {
	whole := []byte{0x0E, 1, 1, 0, 0, 2, 0, 2, 'a', 'b', 1, 1, 'c'}
	if found, err := DecodeIdentity(whole); err != nil || len(found.Objects) != 2 {
		t.Fatalf("%v, %v; want two objects", found, err)
	}
	for size := range len(whole) {
		if _, err := DecodeIdentity(whole[:size]); !errors.Is(err, ErrMalformed) {
			t.Errorf("%d bytes: %v, want ErrMalformed", size, err)
		}
	}
	for what, data := range map[string][]byte{
		"a byte too many":    append(bytes.Clone(whole), 0),
		"more follows of 01": {0x0E, 1, 1, 1, 0, 0},
		"another MEI type":   {0x0D, 1, 1, 0, 0, 0},
	} {
		if _, err := DecodeIdentity(data); !errors.Is(err, ErrMalformed) {
			t.Errorf("%s: %v, want ErrMalformed", what, err)
		}
	}
}

func TestNewIdentity_Refusals(t *testing.T) {
	basic := []Object{{0, "a"}, {1, "b"}, {2, "c"}}
	for what, objects := range map[string][]Object{
		"no revision":  basic[:2],
		"twice":        append(basic[:3:3], Object{1, "d"}),
		"reserved":     append(basic[:3:3], Object{7, "d"}),
		"too long":     append(basic[:3:3], Object{3, strings.Repeat("d", 245)}),
		"none":         nil,
		"reserved 127": append(basic[:3:3], Object{127, "d"}),
	} {
		if _, err := NewIdentity(false, objects...); err == nil {
			t.Errorf("%s: accepted", what)
		}
	}
}
