package modbus

import (
	"bytes"
	"encoding/binary"
	"slices"
	"testing"
)

// The bounds are the bench rule: 2 to 254.
func TestFrame_LengthField(t *testing.T) {
	for length := range 1 << 16 {
		buffered := make([]byte, 6, 400)
		binary.BigEndian.PutUint16(buffered[4:], uint16(length))
		size, err := Frame(buffered)
		if legal := length >= 2 && length <= 254; legal != (err == nil) || size != 0 {
			t.Fatalf("length %d: size %d, %v", length, size, err)
		}
		if err != nil {
			continue
		}
		buffered = buffered[:6+length]
		if size, err = Frame(buffered[:5+length]); size != 0 || err != nil {
			t.Fatalf("length %d, a byte missing: size %d, %v", length, size, err)
		}
		if size, err = Frame(append(buffered, 1, 2)); size != 6+length || err != nil {
			t.Fatalf("length %d, more behind: size %d, %v", length, size, err)
		}
	}
}

func TestFrame_ProtocolIsNoMatterOfFraming(t *testing.T) {
	buffered := []byte{0, 1, 0xAB, 0xCD, 0, 2, 1, 7}
	if size, err := Frame(buffered); size != 8 || err != nil {
		t.Errorf("size %d, %v; want 8 (TCP p. 29)", size, err)
	}
}

// A stream cut anywhere gives the same messages.
func TestFrame_SplitAndMerged(t *testing.T) {
	stream := encode(Header{1, 255}, "read holding 4 1")
	stream = append(stream, encode(Header{2, 255}, "registers 4 0001 0002")...)
	for step := 1; step <= len(stream); step++ {
		var buffered []byte
		var sizes []int
		for piece := range slices.Chunk(stream, step) {
			buffered = append(buffered, piece...)
			for size, err := Frame(buffered); size > 0 || err != nil; size, err = Frame(buffered) {
				if err != nil {
					t.Fatal(err)
				}
				sizes = append(sizes, size)
				buffered = buffered[size:]
			}
		}
		if !slices.Equal(sizes, []int{12, 17}) || len(buffered) != 0 {
			t.Errorf("pieces of %d: messages of %v bytes, %d left", step, sizes, len(buffered))
		}
	}
}

func TestRespond_UnknownUnitAsConfigured(t *testing.T) {
	s := &Server{SilentUnknown: true}
	s.Attach(3, &Unit{Bank: &memory{count: 10}})
	request := func(unit byte) []byte { return encode(Header{7, unit}, "read holding 0 1") }
	if got := s.Respond(nil, request(4)); len(got) != 0 {
		t.Errorf("silent: % X, want nothing", got)
	}
	if got := s.Respond(nil, request(3)); len(got) == 0 {
		t.Error("the unit that is there is silent")
	}
	s.SilentUnknown = false
	want := []byte{0, 7, 0, 0, 0, 3, 4, 0x83, 0x0B} // AP p. 49
	if got := s.Respond(nil, request(4)); !bytes.Equal(got, want) {
		t.Errorf("% X, want % X", got, want)
	}
	s.Attach(3, nil)
	if got := s.Respond(nil, request(3)); got[8] != 0x0B {
		t.Errorf("taken away: % X, want exception 0B", got)
	}
}

func TestRespond_UnitsAreApart(t *testing.T) {
	s := &Server{}
	banks := []*memory{{count: 10}, {count: 10}}
	for i, m := range banks {
		s.Attach(byte(i), &Unit{Bank: m})
	}
	s.Respond(nil, encode(Header{1, 0}, "register 2 1111"))
	s.Respond(nil, encode(Header{2, 1}, "register 2 2222"))
	for i, want := range []string{"holding 2 = 1111", "holding 2 = 2222"} {
		if found := banks[i].holds(want); found != "" {
			t.Errorf("unit %d has %s, want %s", i, found, want)
		}
	}
}

func TestRespond_RefusingUnit(t *testing.T) {
	s := &Server{}
	m := &memory{count: 10}
	u := &Unit{Bank: m, Refuse: DeviceBusy}
	s.Attach(UnitDirect, u)
	got := s.Respond(nil, encode(header, "register 2 1111"))
	if want := message(header, []byte{0x86, 6}); !bytes.Equal(got, want) {
		t.Errorf("% X, want % X", got, want)
	}
	if found := m.holds("holding 2 = 0000"); found != "" {
		t.Errorf("a refused write left %s", found)
	}
	u.Refuse = 0
	got = s.Respond(nil, encode(header, "register 2 1111"))
	if want := message(header, []byte{6, 0, 2, 0x11, 0x11}); !bytes.Equal(got, want) {
		t.Errorf("after: % X, want % X", got, want)
	}
}

// failing is a bank whose addresses exist and whose every deed fails.
type failing struct{}

func (failing) Check(Space, uint16, uint16, bool) Code            { return 0 }
func (failing) ReadBits(Space, uint16, uint16, []byte) Code       { return DeviceFailure }
func (failing) ReadRegisters(Space, uint16, []byte) Code          { return MemoryParity }
func (failing) WriteBits(uint16, uint16, []byte) Code             { return DeviceFailure }
func (failing) WriteRegisters(_ uint16, _ []byte) (refusals Code) { return DeviceFailure }

func TestRespond_FailureInTheDoing(t *testing.T) {
	s := &Server{}
	s.Attach(UnitDirect, &Unit{Bank: failing{}})
	for call, want := range map[string][]byte{
		"read coils 0 9":        {0x81, 4},
		"read holding 0 9":      {0x83, 8},
		"coil 0 on":             {0x85, 4},
		"register 0 0001":       {0x86, 4},
		"coils 0 101":           {0x8F, 4},
		"registers 0 0001":      {0x90, 4},
		"mask 0 0001 0001":      {0x96, 8},
		"readwrite 0 1 0 00FF ": {0x97, 4},
	} {
		got := s.Respond(nil, encode(header, call))
		if whole := message(header, want); !bytes.Equal(got, whole) {
			t.Errorf("%s: % X, want % X", call, got, whole)
		}
	}
}

// A bank need not know where the addresses end (AP clause 4.4: 65535).
func TestRespond_NoBankSeesPastTheLastAddress(t *testing.T) {
	s := &Server{}
	s.Attach(UnitDirect, &Unit{Bank: failing{}})
	for _, pdu := range [][]byte{
		{1, 0xFF, 0xFF, 0, 2}, {3, 0xFF, 0xFF, 0, 2}, {16, 0xFF, 0xFF, 0, 2, 4, 0, 0, 0, 0},
		{23, 0, 0, 0, 1, 0xFF, 0xFF, 0, 2, 4, 0, 0, 0, 0},
	} {
		got := s.Respond(nil, message(header, pdu))
		if want := message(header, []byte{pdu[0] | 0x80, 2}); !bytes.Equal(got, want) {
			t.Errorf("% X: % X, want % X", pdu, got, want)
		}
	}
}

// sealed is a bank that can be written but not read.
type sealed struct{ small }

func (*sealed) Check(_ Space, _, _ uint16, write bool) Code {
	if write {
		return 0
	}
	return IllegalAddress
}

// A mask write reads what it changes, so it needs both (AP clause 6.16).
func TestRespond_MaskOfWhatCannotBeRead(t *testing.T) {
	s := &Server{}
	s.Attach(UnitDirect, &Unit{Bank: &sealed{}})
	got := s.Respond(nil, encode(header, "mask 4 00F2 0025"))
	if want := message(header, []byte{0x96, 2}); !bytes.Equal(got, want) {
		t.Errorf("% X, want % X", got, want)
	}
}

// Bits and gaps that a bank leaves alone are 0 though the buffer was used.
func TestRespond_IntoAUsedBuffer(t *testing.T) {
	s := &Server{}
	s.Attach(UnitDirect, &Unit{Bank: &memory{count: 99}})
	used := bytes.Repeat([]byte{0xFF}, ADUMax)
	got := s.Respond(used[:0], encode(header, "read coils 0 9"))
	if want := message(header, []byte{1, 2, 0, 0}); !bytes.Equal(got, want) {
		t.Errorf("% X, want % X", got, want)
	}
}
