package main_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"haltmark/bench/evidence"
	"haltmark/bench/station"
	"haltmark/emulators/nmea"
)

// freeStation is the demo station with every device at a port that is free: each
// address of the file becomes one of the loopback network with port 0.
func freeStation(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("../../fixtures/stations/demo.yaml")
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.ReplaceAll(string(text), "127.0.0.1:150", "127.0.0.1")
	var lines []string
	for line := range strings.Lines(changed) {
		if at := strings.Index(line, "127.0.0.1"); at >= 0 {
			digits := line[at+len("127.0.0.1"):][:2]
			line = line[:at] + "127.0.0.1" + digits + ":0" + line[at+len("127.0.0.1")+2:]
		}
		lines = append(lines, line)
	}
	return write(t, "station.yaml", strings.Join(lines, ""))
}

// A controller finds every device by the JSON alone, and the program ends at a
// signal with exit code 0.
func TestServe_JSONTellsWhereDevicesAre(t *testing.T) {
	cmd := exec.Command(os.Getenv("HALTMARK_PROGRAM"), "serve", "--json", "--station", freeStation(t))
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = cmd.Process.Kill() }()
	var sheet struct {
		Station string
		Devices []struct {
			Role, Name, Protocol, Network, Address, Map string
			Unit                                        byte
		}
		Management struct{ Agent, Notifications string }
	}
	if err := json.NewDecoder(out).Decode(&sheet); err != nil {
		t.Fatalf("%v\n%s", err, stderr.String())
	}
	if want := len(station.Devices()); len(sheet.Devices) != want || sheet.Management.Agent == "" {
		t.Fatalf("%d devices, agent %q; want %d and an agent", len(sheet.Devices),
			sheet.Management.Agent, want)
	}
	for _, d := range sheet.Devices {
		if d.Role == "mast" {
			if d.Protocol != "nmea-0183" || d.Map != "" {
				t.Errorf("the mast is %+v", d)
			}
			tells(t, d.Network, d.Address)
			continue
		}
		if d.Protocol != "modbus-tcp" {
			t.Errorf("%s speaks %q", d.Name, d.Protocol)
		}
		if d.Map == "" {
			t.Errorf("%s has no register map", d.Name)
		}
		answers(t, d.Network, d.Address, d.Unit)
	}
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("ended with %v\n%s", err, stderr.String())
	}
}

// tells waits for the first sentence of a mast, whose checksum package nmea proves.
func tells(t *testing.T, network, address string) {
	t.Helper()
	conn, err := net.Dial(network, address)
	if err != nil {
		t.Errorf("%s: %v", address, err)
		return
	}
	defer conn.Close()
	line, err := bufio.NewReader(conn).ReadBytes('\n')
	if err != nil {
		t.Errorf("%s: %v", address, err)
	}
	if _, err := nmea.ParseWind(line); err != nil {
		t.Errorf("%s: %q: %v", address, line, err)
	}
}

// answers asks a device for its identification (function 43/14) and looks at the
// head of the answer: transaction, protocol 0, unit (Modbus Messaging on TCP/IP
// Implementation Guide V1.0b 3.1.3). Function 100 would be refused with 0xE4 01.
func answers(t *testing.T, network, address string, unit byte) {
	t.Helper()
	conn, err := net.Dial(network, address)
	if err != nil {
		t.Errorf("%s: %v", address, err)
		return
	}
	defer conn.Close()
	if _, err := conn.Write([]byte{0x12, 0x34, 0, 0, 0, 2, unit, 100}); err != nil {
		t.Errorf("%s: %v", address, err)
	}
	got := make([]byte, 9)
	if _, err := io.ReadFull(conn, got); err != nil {
		t.Errorf("%s: %v", address, err)
	}
	if want := []byte{0x12, 0x34, 0, 0, 0, 3, unit, 0xE4, 1}; !bytes.Equal(got, want) {
		t.Errorf("%s: answered % x; want % x", address, got, want)
	}
}

// On the wall clock the stand-in is a process of its own over loopback. How the
// run ends hangs on how busy this machine is; that it ran, that the record tells
// how late it was, and that judging it again says the same, does not.
func TestGate_OnTheWallClock(t *testing.T) {
	if testing.Short() {
		t.Skip("takes the time that the scenario takes")
	}
	t.Parallel()
	runs := t.TempDir()
	out, stderr, code := haltmark(t, "gate", "--clock", "wall", "--tags", limitTrip, "--phases", "2",
		"--out", runs)
	if code > 2 {
		t.Fatalf("exit code %d\n%s%s", code, out, stderr)
	}
	judged(t, runs, out, code)
	folder, err := evidence.Open(filepath.Join(runs, "latest"))
	if err != nil {
		t.Fatal(err)
	}
	cases, err := folder.Cases()
	if err != nil || len(cases) != 1 || len(cases[0].Phases) != 3 || cases[0].Worst != 2 {
		t.Fatalf("%d cases, %v; want one with two virtual phases and the wall run judged",
			len(cases), err)
	}
	rec, err := folder.WorstRecord(&cases[0])
	if err != nil {
		t.Fatal(err)
	}
	late, _, ok := rec.EdgesOf("bench.lateness")
	if !ok || len(late) < 10 {
		t.Errorf("%d lateness edges", len(late))
	}
	if _, found, _ := rec.EdgesOf("controller.state"); len(found) < 2 {
		t.Error("the stand-in was never heard")
	}
}
