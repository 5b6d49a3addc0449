package modbus

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// vector is one row of testdata/modbus, whose keys testdata/modbus/SOURCES.md explains.
type vector struct {
	name, source, call, means string
	given, then               []string
	lowest, count             int
	request, reply            []byte // PDUs; whole messages in mbap.txt
}

// vectors reads the rows of one file.
func vectors(t testing.TB, file string) []vector {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "modbus", file))
	if err != nil {
		t.Fatal(err)
	}
	var rows []vector
	open := false
	for number, line := range strings.Split(string(text), "\n") {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			open = false
			continue
		}
		if !open {
			rows = append(rows, vector{count: 1 << 16})
			open = true
		}
		key, value, _ := strings.Cut(line, ": ")
		if err := rows[len(rows)-1].set(key, value); err != nil {
			t.Fatalf("%s:%d: %v", file, number+1, err)
		}
	}
	for _, v := range rows {
		if v.name == "" || v.source == "" || len(v.request) == 0 {
			t.Fatalf("%s: row %q needs name, source and request", file, v.name)
		}
	}
	if len(rows) == 0 {
		t.Fatalf("%s has no rows", file)
	}
	return rows
}

func (v *vector) set(key, value string) (err error) {
	switch key {
	case "name":
		v.name = value
	case "source":
		v.source = value
	case "call":
		v.call = value
	case "means":
		v.means = value
	case "given":
		v.given = append(v.given, value)
	case "then":
		v.then = append(v.then, value)
	case "range":
		_, err = fmt.Sscan(value, &v.lowest, &v.count)
	case "request":
		v.request, err = octets(value)
	case "reply":
		v.reply, err = octets(value)
	default:
		err = fmt.Errorf("no key %q", key)
	}
	return err
}

// octets reads hex bytes; 00*4 stands for four of them.
func octets(text string) ([]byte, error) {
	var all []byte
	for _, field := range strings.Fields(text) {
		digits, times, repeated := strings.Cut(field, "*")
		one, err := hex.DecodeString(digits)
		if err != nil {
			return nil, err
		}
		n := 1
		if repeated {
			if n, err = strconv.Atoi(times); err != nil {
				return nil, err
			}
		}
		all = append(all, bytes.Repeat(one, n)...)
	}
	return all, nil
}

// number reads decimal or 0x.
func number(text string) uint16 {
	n, err := strconv.ParseUint(text, 0, 16)
	if err != nil {
		panic(err)
	}
	return uint16(n)
}

// packed reads bits in order, lowest first.
func packed(text string) []byte {
	out := make([]byte, (len(text)+7)/8)
	for i, digit := range text {
		if digit == '1' {
			out[i/8] |= 1 << (i % 8)
		}
	}
	return out
}

// message puts a PDU behind a header.
func message(h Header, pdu []byte) []byte {
	return append(appendHeader(nil, h, len(pdu)), pdu...)
}

// encode makes the message of a row's call with the package's own encoders.
func encode(h Header, call string) []byte {
	w := strings.Fields(call)
	values := func(from int) []byte {
		all, err := octets(strings.Join(w[from:], " "))
		if err != nil {
			panic(err)
		}
		return all
	}
	hexWord := func(i int) uint16 { return number("0x" + w[i]) }
	switch w[0] {
	case "read":
		var s Space
		if err := s.UnmarshalText([]byte(w[1])); err != nil {
			panic(err)
		}
		return AppendRead(nil, h, s, Block{number(w[2]), number(w[3])})
	case "coil":
		return AppendWriteCoil(nil, h, number(w[1]), w[2] == "on")
	case "register":
		return AppendWriteRegister(nil, h, number(w[1]), hexWord(2))
	case "coils":
		return AppendWriteCoils(nil, h, Block{number(w[1]), uint16(len(w[2]))}, packed(w[2]))
	case "registers":
		return AppendWriteRegisters(nil, h, number(w[1]), values(2))
	case "mask":
		return AppendMaskWrite(nil, h, number(w[1]), hexWord(2), hexWord(3))
	case "readwrite":
		return AppendReadWrite(nil, h, Block{number(w[1]), number(w[2])}, number(w[3]), values(4))
	case "identify":
		return AppendReadIdentity(nil, h, Access(number(w[1])), byte(number(w[2])))
	}
	panic("no call " + call)
}

// memory is a bank whose spaces all have the same addresses.
type memory struct {
	lowest, count int
	bits          [2][1 << 16]bool
	registers     [2][1 << 17]byte
}

func (m *memory) Check(_ Space, address, count uint16, _ bool) Code {
	if int(address) < m.lowest || int(address)+int(count) > m.lowest+m.count {
		return IllegalAddress
	}
	return 0
}

func (m *memory) ReadBits(space Space, address, count uint16, dst []byte) Code {
	for i := range int(count) {
		if m.bits[space][int(address)+i] {
			dst[i/8] |= 1 << (i % 8)
		}
	}
	return 0
}

func (m *memory) ReadRegisters(space Space, address uint16, dst []byte) Code {
	copy(dst, m.registers[space-Holding][2*int(address):])
	return 0
}

func (m *memory) WriteBits(address, count uint16, src []byte) Code {
	for i := range int(count) {
		m.bits[Coils][int(address)+i] = BitAt(src, i)
	}
	return 0
}

func (m *memory) WriteRegisters(address uint16, src []byte) Code {
	copy(m.registers[0][2*int(address):], src)
	return 0
}

// contents splits "holding 0x6B = 022B 0000".
func contents(text string) (space Space, address uint16, values string) {
	place, values, _ := strings.Cut(text, " = ")
	w := strings.Fields(place)
	if err := space.UnmarshalText([]byte(w[0])); err != nil {
		panic(err)
	}
	return space, number(w[1]), values
}

// fill puts contents into the memory.
func (m *memory) fill(text string) {
	space, address, values := contents(text)
	if space.Bits() {
		for i, digit := range values {
			m.bits[space][int(address)+i] = digit == '1'
		}
		return
	}
	all, err := octets(splitWords(values))
	if err != nil {
		panic(err)
	}
	copy(m.registers[space-Holding][2*int(address):], all)
}

// splitWords makes bytes of registers: "022B 0000" to "022B0000".
func splitWords(text string) string { return strings.ReplaceAll(text, " ", "") }

// holds tells what the memory has where text says something else, or "".
func (m *memory) holds(text string) string {
	space, address, values := contents(text)
	found := ""
	if space.Bits() {
		for i := range values {
			found += map[bool]string{false: "0", true: "1"}[m.bits[space][int(address)+i]]
		}
	} else {
		from := 2 * int(address)
		size := len(splitWords(values)) / 2
		found = fmt.Sprintf("%X", m.registers[space-Holding][from:from+size])
		values = splitWords(values)
	}
	if found == values {
		return ""
	}
	return found
}
