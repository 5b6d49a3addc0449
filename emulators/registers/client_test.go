package registers

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"testing"

	"haltmark/emulators/modbus"
)

// plan returns the PDUs of all requests in hex.
func plan(t *testing.T, c *Client) []string {
	t.Helper()
	var all []string
	for i := range c.Requests() {
		all = append(all, strings.ToUpper(hex.EncodeToString(c.AppendRequest(nil, i)[7:])))
	}
	return all
}

// Requests worked by hand from Modbus Application Protocol V1.1b3 clause 6.
func TestNewClient_Plans(t *testing.T) {
	rows := []struct {
		what        string
		gaps        Gaps
		read, write string
		want        string // PDUs without spaces
	}{
		{"one value", GapsRefused, "wide", "", "0300010002"},
		{"what lies between is read too", GapsRefused, "last word", "", "0300000007"},
		{"a gap divides", GapsRefused, "last long", "", "0300060001 03000A0002"},
		{"a gap that reads as zero does not", GapsZero, "last long", "", "0300060006"},
		{"spaces are apart", GapsRefused, "lamp switch word position", "",
			"0100140001 0200080001 0300000001 0400640004"},
		{"bits", GapsRefused, "horn sealed lamp guard", "", "0100140003 0200090001"},
		{"one register", GapsRefused, "", "word", "0600000000"},
		{"one coil", GapsRefused, "", "horn", "050015FF00"},
		{"coils", GapsRefused, "", "horn lamp", "0F00140002" + "0103"},
		{"neighbours", GapsRefused, "", "wide word", "10000000030600000000" + "0000"},
		{"nothing between is written", GapsRefused, "", "word more",
			"0600000000 0600050000"},
		{"not even a gap", GapsZero, "", "last long", "0600060000 10000A00020400000000"},
		{"all bits of a register", GapsRefused, "", "high low", "0600030000"},
		{"read and written at once", GapsRefused, "status wide", "word",
			"17000100040000000102" + "0000"},
		{"even a value of two words", GapsRefused, "status", "long",
			"1700040001000A000204" + "00000000"},
		{"input registers stay apart", GapsRefused, "position", "word",
			"0600000000 0400640004"},
		{"two pairs", GapsRefused, "status other", "word end",
			"17000400010000000102" + "0000 17000C0002000E000102" + "0000"},
		{"a write is left", GapsRefused, "status", "word end",
			"0600000000 1700040001000E0001020000"},
		{"a read is left", GapsRefused, "status other", "word",
			"17000400010000000102" + "0000 03000C0002"},
		{"coils come before what is read", GapsRefused, "switch", "lamp",
			"050014FF00 0200080001"},
		{"nothing", GapsRefused, "", "", ""},
	}
	for _, row := range rows {
		m := sample()
		m.Gaps = row.gaps
		for i := range m.Points {
			// A lamp that is lit by 0, so that coils start at 1.
			m.Points[i].Negate = m.Points[i].Space == modbus.Coils
		}
		c, err := NewClient(m, 1, strings.Fields(row.read), strings.Fields(row.write))
		if err != nil {
			t.Errorf("%s: %v", row.what, err)
			continue
		}
		if got := strings.Join(plan(t, c), " "); got != row.want {
			t.Errorf("%s: %s, want %s", row.what, got, row.want)
		}
	}
}

// Every arrangement of eight registers, each absent, present or wanted: without
// tolerance there must be one request for each run of present registers that
// has a wanted one.
func TestNewClient_PlansAreTheFewest(t *testing.T) {
	for code := range 6561 { // 3^8
		var m Map
		var wanted []string
		runs, counted, rest := 0, false, code
		for address := range 8 {
			state := rest % 3
			rest /= 3
			if state == 0 {
				counted = false
				continue
			}
			name := fmt.Sprint("r", address)
			m.Points = append(m.Points, Point{Quantity: name, Space: modbus.Input,
				Address: uint16(address), Type: U16})
			if state == 2 {
				wanted = append(wanted, name)
				if !counted {
					runs++
				}
				counted = true
			}
		}
		if len(m.Points) == 0 {
			continue
		}
		c, err := NewClient(m, 1, wanted, nil)
		if err != nil {
			t.Fatal(err)
		}
		if c.Requests() != runs {
			t.Errorf("arrangement %d: %d requests, want %d", code, c.Requests(), runs)
		}
	}
}

// Limits of Modbus Application Protocol V1.1b3 clauses 6.3, 6.12 and 6.17: 125
// registers read, 123 written, 121 written beside a read. A value is not cut.
func TestNewClient_PlansWithinTheLimits(t *testing.T) {
	var m Map
	var all []string
	for i := range 300 {
		name := fmt.Sprint("v", i)
		all = append(all, name)
		m.Points = append(m.Points, Point{Quantity: name, Space: modbus.Holding,
			Address: uint16(2 * i), Type: U32, Write: true})
	}
	for _, row := range []struct {
		read, write []string
		want        int
	}{
		{all, nil, 5}, // 62 values in 124 registers
		{nil, all, 5}, // 61 values in 122 registers
		{all, all, 5}, // 60 values in 120 registers, each with a read
	} {
		c, err := NewClient(m, 1, row.read, row.write)
		if err != nil {
			t.Fatal(err)
		}
		if got := c.Requests(); got != row.want {
			t.Errorf("%d requests, want %d", got, row.want)
		}
		s := served(t, m, newBench(all...))
		for i := range c.Requests() {
			if _, err := c.Decode(s.Respond(nil, c.AppendRequest(nil, i))); err != nil {
				t.Error(err)
			}
		}
	}
}

// What is written by one side is read by the other, for everything of a map.
func TestClient_ThroughAServer(t *testing.T) {
	d := sampleDevice()
	m := sample()
	s := served(t, m, d)
	reads := d.names
	writes := []string{"low", "high", "long", "word", "wide", "more", "last", "end", "lamp", "horn"}
	values := []float64{0, 1, 4e9, 65535, -2e9, -7, 12, 3, 1, 0}
	c, err := NewClient(m, 1, reads, writes)
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range values {
		c.Set(i, v)
	}
	d.set("position", -1<<40)
	d.set("other", -5)
	d.set("guard", 1)
	for i := range c.Requests() {
		if got, err := c.Decode(s.Respond(nil, c.AppendRequest(nil, i))); got != i || err != nil {
			t.Fatalf("request %d: %d, %v", i, got, err)
		}
	}
	for i, name := range writes {
		if got := d.values[indexOf(d.names, name)]; got != values[i] {
			t.Errorf("the device has %s %v, want %v", name, got, values[i])
		}
	}
	for i, name := range reads {
		if got, want := c.Value(i), d.values[i]; got != want {
			t.Errorf("the client has %s %v, want %v", name, got, want)
		}
	}
}

func indexOf(names []string, name string) int {
	for i, n := range names {
		if n == name {
			return i
		}
	}
	return -1
}

// The guide's rule for unknown transactions: discard (TCP p. 24).
func TestClient_StaleReplies(t *testing.T) {
	d := sampleDevice()
	s := served(t, sample(), d)
	c, err := NewClient(sample(), 1, []string{"word"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if i, err := c.Decode([]byte{0, 0, 0, 0, 0, 5, 255, 3, 2, 0, 9}); i != -1 ||
		err != modbus.ErrStale {
		t.Errorf("nothing was asked: %d, %v", i, err)
	}
	d.set("word", 1)
	late := s.Respond(nil, c.AppendRequest(nil, 0))
	d.set("word", 2)
	fresh := s.Respond(nil, c.AppendRequest(nil, 0))
	if i, err := c.Decode(late); i != -1 || err != modbus.ErrStale || c.Value(0) != 0 {
		t.Errorf("late reply: %d, %v, value %v", i, err, c.Value(0))
	}
	if i, err := c.Decode(fresh); i != 0 || err != nil || c.Value(0) != 2 {
		t.Errorf("fresh reply: %d, %v, value %v", i, err, c.Value(0))
	}
	if _, err := c.Decode(fresh); err != modbus.ErrStale {
		t.Errorf("the same again: %v, want ErrStale", err)
	}
	fresh = s.Respond(nil, c.AppendRequest(nil, 0))
	c.Reset()
	if _, err := c.Decode(fresh); err != modbus.ErrStale {
		t.Errorf("after Reset: %v, want ErrStale", err)
	}
}

func TestClient_RepliesInAnyOrder(t *testing.T) {
	d := sampleDevice()
	d.set("word", 3)
	d.set("position", 4)
	s := served(t, sample(), d)
	c, err := NewClient(sample(), 1, []string{"position", "word"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	first, second := c.AppendRequest(nil, 0), c.AppendRequest(nil, 1)
	if string(first[:2]) == string(second[:2]) {
		t.Error("two requests under one transaction")
	}
	for _, row := range []struct {
		request []byte
		want    int
	}{{second, 1}, {first, 0}} {
		if i, err := c.Decode(s.Respond(nil, row.request)); i != row.want || err != nil {
			t.Errorf("%d, %v; want %d", i, err, row.want)
		}
	}
	if c.Value(0) != 4 || c.Value(1) != 3 {
		t.Errorf("position %v, word %v; want 4 and 3", c.Value(0), c.Value(1))
	}
}

func TestClient_ErrorsKeepTheValues(t *testing.T) {
	d := sampleDevice()
	d.set("word", 3)
	s := served(t, sample(), d)
	c, err := NewClient(sample(), 1, []string{"word"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.Decode(s.Respond(nil, c.AppendRequest(nil, 0))); err != nil {
		t.Fatal(err)
	}
	s.Unit(modbus.UnitDirect).Refuse = modbus.DeviceBusy
	_, err = c.Decode(s.Respond(nil, c.AppendRequest(nil, 0)))
	want := modbus.Exception{Function: 3, Code: modbus.DeviceBusy}
	var refused modbus.Exception
	if !errors.As(err, &refused) || refused != want {
		t.Errorf("%v, want %v", err, want)
	}
	c.AppendRequest(nil, 0)
	_, err = c.Decode([]byte{0, 3, 0, 0, 0, 5, 255, 4, 2, 0, 9})
	if !errors.Is(err, modbus.ErrMalformed) {
		t.Errorf("%v, want ErrMalformed", err)
	}
	if c.Value(0) != 3 {
		t.Errorf("value %v, want the old one, 3", c.Value(0))
	}
}

func TestClient_SaysWhoIsMissing(t *testing.T) {
	for _, row := range []struct{ read, write, want string }{
		{"nobody", "", "registers: map sample has no quantity \"nobody\""},
		{"", "nobody", "registers: map sample has no writable quantity \"nobody\""},
		{"", "status", "registers: map sample has no writable quantity \"status\""},
		{"", "low", "registers: map sample: high shares holding 3 with what is written; " +
			"write it too"},
		{"word word", "", "registers: map sample: word is asked for twice"},
	} {
		_, err := NewClient(sample(), 1, strings.Fields(row.read), strings.Fields(row.write))
		if err == nil || err.Error() != row.want {
			t.Errorf("%v, want %s", err, row.want)
		}
	}
}

func FuzzClient(f *testing.F) {
	f.Add([]byte{0, 1, 0, 0, 0, 3, 255, 0x97, 2})
	f.Add([]byte{0, 1, 0, 0, 0, 7, 255, 0x17, 4, 1, 2, 3, 4})
	f.Add([]byte{0, 2, 0, 0, 0, 4, 255, 1, 1, 3})
	f.Fuzz(func(t *testing.T, reply []byte) {
		c, err := NewClient(sample(), 1, []string{"wide", "lamp", "horn", "position"},
			[]string{"word"})
		if err != nil {
			t.Fatal(err)
		}
		for i := range c.Requests() {
			c.AppendRequest(nil, i)
		}
		if i, err := c.Decode(reply); err == nil && (i < 0 || i >= c.Requests()) {
			t.Fatalf("request %d of %d", i, c.Requests())
		}
	})
}
