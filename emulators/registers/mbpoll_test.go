package registers

import (
	"net"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"haltmark/emulators/modbus"
)

// mbpoll finds the outside client: a command line over libmodbus.
func mbpoll(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("mbpoll")
	if err != nil {
		if os.Getenv("HALTMARK_REQUIRE_TOOLS") == "1" {
			t.Fatal("NOT CHECKED against an outside client: mbpoll is absent and required")
		}
		t.Skip("NOT CHECKED against an outside client: mbpoll is absent (apt install mbpoll)")
	}
	return path
}

// listen serves s, one request at a time under lock, on a loopback port until
// the test ends and returns the port.
func listen(t *testing.T, s *modbus.Server, lock *sync.Mutex) string {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	var open sync.WaitGroup
	t.Cleanup(func() {
		listener.Close()
		open.Wait()
	})
	open.Go(func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			open.Go(func() { converse(conn, s, lock) })
		}
	})
	_, port, err := net.SplitHostPort(listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	return port
}

// converse answers messages until the peer leaves or loses the framing.
func converse(conn net.Conn, s *modbus.Server, lock *sync.Mutex) {
	defer conn.Close()
	var buffered []byte
	for {
		size, err := modbus.Frame(buffered)
		if err != nil {
			return
		}
		if size == 0 {
			piece := make([]byte, modbus.ADUMax)
			n, err := conn.Read(piece)
			if err != nil {
				return
			}
			buffered = append(buffered, piece[:n]...)
			continue
		}
		lock.Lock()
		reply := s.Respond(nil, buffered[:size])
		lock.Unlock()
		buffered = buffered[size:]
		if _, err := conn.Write(reply); err != nil {
			return
		}
	}
}

// answer finds "[address]: value" in what the client prints; a negative 16-bit
// value stands in brackets behind its unsigned reading.
var answer = regexp.MustCompile(`(?m)^\[(\d+)\]:\s+(-?\d+)`)

// poll runs the client and returns the values it prints, by address.
func poll(t *testing.T, tool, port string, options ...string) (map[int]int64, string) {
	t.Helper()
	// -0: addresses as on the wire; -1: once; -a 9: the unit.
	all := append([]string{"-0", "-1", "-a", "9", "-p", port}, options...)
	printed, err := exec.Command(tool, all...).CombinedOutput()
	values := make(map[int]int64)
	for _, found := range answer.FindAllStringSubmatch(string(printed), -1) {
		address, _ := strconv.Atoi(found[1])
		values[address], _ = strconv.ParseInt(found[2], 10, 64)
	}
	if err != nil {
		return values, string(printed) + err.Error()
	}
	return values, string(printed)
}

// outsideMap has each space, and 32 bits in the two orders the client knows.
func outsideMap() Map {
	m := Map{Name: "outside"}
	for i, q := range []string{"coil_0", "coil_1", "coil_2"} {
		m.Points = append(m.Points, Point{Quantity: q, Space: modbus.Coils,
			Address: uint16(10 + i), Bit: -1, Write: true})
	}
	for i, q := range []string{"switch_0", "switch_1", "switch_2"} {
		m.Points = append(m.Points, Point{Quantity: q, Space: modbus.DiscreteInputs,
			Address: uint16(20 + i), Bit: -1})
	}
	at := func(q string, s Space, address uint16, p Point) {
		p.Quantity, p.Space, p.Address, p.Bit = q, s, address, -1
		p.Write = s == modbus.Holding
		m.Points = append(m.Points, p)
	}
	at("word", modbus.Holding, 30, Point{Type: U16})
	at("next", modbus.Holding, 31, Point{Type: U16})
	at("big", modbus.Holding, 40, Point{Type: S32, Order: Big})
	at("little", modbus.Holding, 42, Point{Type: S32, Order: LittleWords})
	at("input", modbus.Input, 50, Point{Type: U16})
	at("input_big", modbus.Input, 51, Point{Type: S32, Order: Big})
	return m
}

func outsideDevice() *bench {
	d := newBench("coil_0", "coil_1", "coil_2", "switch_0", "switch_1", "switch_2", "word",
		"next", "big", "little", "input", "input_big")
	d.values = []float64{1, 0, 1, 0, 1, 1, 1234, 4321, -123456789, 987654321, 777, -2000000000}
	return d
}

// The oracle is the outside client: libmodbus decodes what Respond sends.
func TestUnit_ReadByAnOutsideClient(t *testing.T) {
	tool := mbpoll(t)
	u, err := Bind(outsideMap(), outsideDevice(), 1)
	if err != nil {
		t.Fatal(err)
	}
	s := &modbus.Server{}
	s.Attach(9, &modbus.Unit{Bank: u})
	var lock sync.Mutex
	port := listen(t, s, &lock)
	for _, row := range []struct {
		what    string
		options []string
		want    map[int]int64
	}{
		{"coils", []string{"-t", "0", "-r", "10", "-c", "3"}, map[int]int64{10: 1, 11: 0, 12: 1}},
		{"discrete inputs", []string{"-t", "1", "-r", "20", "-c", "3"},
			map[int]int64{20: 0, 21: 1, 22: 1}},
		{"holding registers", []string{"-t", "4", "-r", "30", "-c", "2"},
			map[int]int64{30: 1234, 31: 4321}},
		{"input register", []string{"-t", "3", "-r", "50"}, map[int]int64{50: 777}},
		{"32 bits, high word first", []string{"-t", "4:int", "-B", "-r", "40"},
			map[int]int64{40: -123456789}},
		{"32 bits, low word first", []string{"-t", "4:int", "-r", "42"},
			map[int]int64{42: 987654321}},
		{"32 bits of inputs", []string{"-t", "3:int", "-B", "-r", "51"},
			map[int]int64{51: -2000000000}},
	} {
		got, printed := poll(t, tool, port, append(row.options, "127.0.0.1")...)
		if len(got) != len(row.want) {
			t.Errorf("%s: %v, want %v\n%s", row.what, got, row.want, printed)
			continue
		}
		for address, want := range row.want {
			if got[address] != want {
				t.Errorf("%s: %d at %d, want %d", row.what, got[address], address, want)
			}
		}
	}
}

func TestUnit_WrittenByAnOutsideClient(t *testing.T) {
	tool := mbpoll(t)
	d := outsideDevice()
	u, err := Bind(outsideMap(), d, 1)
	if err != nil {
		t.Fatal(err)
	}
	s := &modbus.Server{}
	s.Attach(9, &modbus.Unit{Bank: u})
	var lock sync.Mutex
	port := listen(t, s, &lock)
	for _, row := range []struct {
		options string
		want    map[string]float64
	}{
		{"-t 0 -r 11 127.0.0.1 1", map[string]float64{"coil_1": 1}},
		{"-t 0 -r 10 127.0.0.1 0 1 0", map[string]float64{"coil_0": 0, "coil_1": 1, "coil_2": 0}},
		{"-t 4 -r 30 127.0.0.1 999", map[string]float64{"word": 999}},
		{"-t 4 -r 30 127.0.0.1 17 65000", map[string]float64{"word": 17, "next": 65000}},
		{"-t 4:int -B -r 40 127.0.0.1 -- -70000", map[string]float64{"big": -70000}},
		{"-t 4:int -r 42 127.0.0.1 70000", map[string]float64{"little": 70000}},
	} {
		_, printed := poll(t, tool, port, strings.Fields(row.options)...)
		lock.Lock()
		for name, want := range row.want {
			if got := d.values[indexOf(d.names, name)]; got != want {
				t.Errorf("%s: %s is %v, want %v\n%s", row.options, name, got, want, printed)
			}
		}
		lock.Unlock()
	}
}

func TestUnit_RefusalsSeenByAnOutsideClient(t *testing.T) {
	tool := mbpoll(t)
	u, err := Bind(outsideMap(), outsideDevice(), 1)
	if err != nil {
		t.Fatal(err)
	}
	s := &modbus.Server{}
	s.Attach(9, &modbus.Unit{Bank: u})
	var lock sync.Mutex
	port := listen(t, s, &lock)
	_, printed := poll(t, tool, port, "-t", "4", "-r", "31", "-c", "2", "127.0.0.1")
	if !strings.Contains(printed, "Illegal data address") {
		t.Errorf("a gap: %s", printed)
	}
	lock.Lock()
	s.Unit(9).Refuse = modbus.DeviceBusy
	lock.Unlock()
	_, printed = poll(t, tool, port, "-t", "4", "-r", "30", "127.0.0.1")
	if !strings.Contains(printed, "busy") {
		t.Errorf("busy: %s", printed)
	}
}
