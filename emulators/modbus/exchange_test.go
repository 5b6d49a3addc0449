package modbus

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
)

var exchangeFiles = []string{"functions.txt", "exceptions.txt"}

var header = Header{Transaction: 0x1501, Unit: UnitDirect}

// serve makes a server with one unit as a row wants it.
func serve(v vector) (*Server, *memory) {
	m := &memory{lowest: v.lowest, count: v.count}
	for _, g := range v.given {
		m.fill(g)
	}
	s := &Server{}
	s.Attach(UnitDirect, &Unit{Bank: m})
	return s, m
}

func TestAppend_PublishedRequests(t *testing.T) {
	called := 0
	for _, file := range append(exchangeFiles, "identity.txt") {
		for _, v := range vectors(t, file) {
			if v.call == "" {
				continue
			}
			called++
			got := encode(header, v.call)
			if want := message(header, v.request); !bytes.Equal(got, want) {
				t.Errorf("%s (%s): % X, want % X", v.name, v.source, got, want)
			}
		}
	}
	if called < 25 {
		t.Errorf("only %d rows have a call", called)
	}
}

func TestRespond_PublishedReplies(t *testing.T) {
	for _, file := range exchangeFiles {
		for _, v := range vectors(t, file) {
			s, m := serve(v)
			got := s.Respond(nil, message(header, v.request))
			if want := message(header, v.reply); !bytes.Equal(got, want) {
				t.Errorf("%s (%s): % X, want % X", v.name, v.source, got, want)
			}
			for _, then := range v.then {
				if found := m.holds(then); found != "" {
					t.Errorf("%s (%s): holds %s, want %s", v.name, v.source, found, then)
				}
			}
		}
	}
}

func TestRespond_WholeMessages(t *testing.T) {
	for _, v := range vectors(t, "mbap.txt") {
		s, _ := serve(v)
		got := s.Respond([]byte("before"), v.request)
		if want := append([]byte("before"), v.reply...); !bytes.Equal(got, want) {
			t.Errorf("%s (%s): % X, want % X", v.name, v.source, got, want)
		}
	}
}

// understood tells in a row's words what a client reads in a reply.
func understood(v vector, data []byte, err error) string {
	var refused Exception
	switch {
	case errors.As(err, &refused):
		return fmt.Sprintf("exception %02X", byte(refused.Code))
	case err != nil:
		return err.Error()
	case data == nil:
		return "written"
	}
	kind, values, _ := strings.Cut(v.means, " ")
	if kind == "bits" {
		text := "bits "
		for i := range values {
			text += map[bool]string{false: "0", true: "1"}[BitAt(data, i)]
		}
		return text
	}
	text := "registers"
	for i := range len(data) / 2 {
		text += fmt.Sprintf(" %X", data[2*i:2*i+2])
	}
	return text
}

func TestDecode_PublishedReplies(t *testing.T) {
	for _, file := range append(exchangeFiles, "mbap.txt") {
		for _, v := range vectors(t, file) {
			if v.means == "" {
				continue
			}
			request, reply := v.request, v.reply
			if file != "mbap.txt" {
				request, reply = message(header, request), message(header, reply)
			}
			data, err := Decode(request, reply)
			if got := understood(v, data, err); got != v.means {
				t.Errorf("%s (%s): %s, want %s", v.name, v.source, got, v.means)
			}
		}
	}
}

func TestDecode_StaleRepliesAreToldApart(t *testing.T) {
	request := encode(header, "read holding 4 1")
	reply := message(header, []byte{3, 2, 0, 5})
	for _, at := range []int{0, 1, 2, 3, 6} { // transaction, protocol, unit
		other := bytes.Clone(reply)
		other[at] ^= 1
		if _, err := Decode(request, other); err != ErrStale {
			t.Errorf("byte %d differs: %v, want ErrStale (TCP p. 24)", at, err)
		}
	}
	if _, err := Decode(request, reply); err != nil {
		t.Errorf("its own reply: %v", err)
	}
}

func TestDecode_RefusesWhatCannotBeTheAnswer(t *testing.T) {
	rows := []struct{ what, call, reply string }{
		{"another function", "read holding 4 1", "04 02 00 05"},
		{"too few registers", "read holding 4 2", "03 02 00 05"},
		{"too many registers", "read holding 4 1", "03 04 00 05 00 06"},
		{"byte count of another size", "read holding 4 1", "03 04 00 05"},
		{"no data", "read holding 4 1", "03"},
		{"too few bits", "read coils 0 9", "01 01 FF"},
		{"too few registers after a write", "readwrite 0 2 0 0001", "17 02 00 00"},
		{"echo of another value", "register 1 0003", "06 00 01 00 04"},
		{"echo of another coil", "coil 1 on", "05 00 02 FF 00"},
		{"echo of another quantity", "registers 1 000A 0102", "10 00 01 00 03"},
		{"echo cut short", "coils 1 101", "0F 00 01"},
		{"echo of another mask", "mask 4 00F2 0025", "16 00 04 00 F2 00 24"},
		{"exception without a code", "read holding 4 1", "83"},
		{"exception of two codes", "read holding 4 1", "83 02 02"},
		{"exception 0", "read holding 4 1", "83 00"},
		{"exception to another function", "read holding 4 1", "84 02"},
		{"another MEI type", "identify 1 0", "2B 0D 01 01 00 00 00"},
	}
	for _, row := range rows {
		pdu, err := octets(row.reply)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Decode(encode(header, row.call), message(header, pdu))
		if !errors.Is(err, ErrMalformed) {
			t.Errorf("%s: %v, want ErrMalformed", row.what, err)
		}
	}
}

// A request that no Append function made is judged, not trusted.
func TestDecode_AgainstARequestCutShort(t *testing.T) {
	for _, pdu := range [][]byte{{1}, {3, 0, 0, 0}, {15, 0, 0, 0}, {23}, {43}} {
		reply := message(header, append([]byte{pdu[0]}, 0, 0, 0, 0))
		if _, err := Decode(message(header, pdu), reply); !errors.Is(err, ErrMalformed) {
			t.Errorf("% X: %v, want ErrMalformed", pdu, err)
		}
	}
	if _, err := Decode(nil, message(header, []byte{3, 2, 0, 5})); !errors.Is(err, ErrMalformed) {
		t.Errorf("no request: %v, want ErrMalformed", err)
	}
}

func TestDecode_RefusesWhatIsNoMessage(t *testing.T) {
	request := encode(header, "read holding 4 1")
	good := message(header, []byte{3, 2, 0, 5})
	for what, reply := range map[string][]byte{
		"nothing": nil, "header only": good[:7], "cut short": good[:10],
		"a byte too many": append(bytes.Clone(good), 0),
	} {
		if _, err := Decode(request, reply); !errors.Is(err, ErrMalformed) {
			t.Errorf("%s: %v, want ErrMalformed", what, err)
		}
	}
}

func TestAppend_PanicsOnWhatNoServerMayAccept(t *testing.T) {
	for what, call := range map[string]func(){
		"126 registers": func() { AppendRead(nil, header, Holding, Block{0, 126}) },
		"no registers":  func() { AppendRead(nil, header, Input, Block{0, 0}) },
		"2001 coils":    func() { AppendRead(nil, header, Coils, Block{0, 2001}) },
		"wrap":          func() { AppendRead(nil, header, Holding, Block{0xFFFF, 2}) },
		"124 written":   func() { AppendWriteRegisters(nil, header, 0, make([]byte, 248)) },
		"half a word":   func() { AppendWriteRegisters(nil, header, 0, make([]byte, 3)) },
		"1969 coils":    func() { AppendWriteCoils(nil, header, Block{0, 1969}, make([]byte, 247)) },
		"coils short":   func() { AppendWriteCoils(nil, header, Block{0, 9}, make([]byte, 1)) },
		"122 and read":  func() { AppendReadWrite(nil, header, Block{0, 1}, 0, make([]byte, 244)) },
	} {
		func() {
			defer func() {
				text, _ := recover().(string)
				if !strings.HasPrefix(text, "modbus: ") {
					t.Errorf("%s: panic %q, want one of this package", what, text)
				}
			}()
			call()
		}()
	}
}
