package snmp

import (
	"net"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
)

// The tests of this file have Net-SNMP's commands ask the agent over loopback.

// tool finds a command of Net-SNMP. Without it the test is skipped, or fails where
// HALTMARK_REQUIRE_TOOLS=1 says that it must be there.
func tool(t *testing.T, command string) string {
	t.Helper()
	path, err := exec.LookPath(command)
	if err != nil {
		if os.Getenv("HALTMARK_REQUIRE_TOOLS") == "1" {
			t.Fatalf("%s of Net-SNMP is required and not installed", command)
		}
		t.Skipf("OUTSIDE CHECK SKIPPED: %s of Net-SNMP is not installed", command)
	}
	return path
}

// serveUDP answers on a loopback socket until stop or the end of the test.
func serveUDP(t *testing.T, a *Agent) (address string, stop func()) {
	t.Helper()
	socket, err := net.ListenPacket("udp4", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		buffer := make([]byte, 65535)
		for {
			n, peer, err := socket.ReadFrom(buffer)
			if err != nil {
				return
			}
			if out := a.Respond(nil, buffer[:n]); len(out) > 0 {
				if _, err := socket.WriteTo(out, peer); err != nil {
					return
				}
			}
		}
	}()
	stop = sync.OnceFunc(func() {
		if err := socket.Close(); err != nil {
			t.Error(err)
		}
		<-done
	})
	t.Cleanup(stop)
	return socket.LocalAddr().String(), stop
}

// run has a command ask; numeric names, no MIB files, one try.
func run(t *testing.T, command, community, address string, args ...string) string {
	t.Helper()
	all := []string{"-v2c", "-c", community, "-On", "-m", "", "-r", "0", "-t", "5", address}
	all = append(all, args...)
	c := exec.Command(tool(t, command), all...)
	c.Env = append(os.Environ(), "MIBS=", "SNMP_PERSISTENT_DIR="+t.TempDir())
	out, err := c.CombinedOutput()
	if err != nil && c.ProcessState == nil {
		t.Fatalf("%s: %v", command, err)
	}
	var told []string
	for line := range strings.Lines(string(out)) {
		if !strings.HasPrefix(line, "Created directory:") {
			told = append(told, line)
		}
	}
	return strings.TrimSpace(strings.Join(told, ""))
}

func TestNetSNMP_Get(t *testing.T) {
	tool(t, "snmpget")
	w := &world{status: -70000, counter: 1<<32 - 1, text: "stand-in 1"}
	address, _ := serveUDP(t, w.agent(t))
	root := "." + base.String()
	for range 3 { // the later ones meet kept exchanges
		got := run(t, "snmpget", "watch", address,
			root+".1.1.0", root+".1.2.0", root+".1.3.0", root+".9.0")
		want := root + ".1.1.0 = INTEGER: -70000\n" + root + ".1.2.0 = Counter32: 4294967295\n" +
			root + ".1.3.0 = STRING: \"stand-in 1\"\n" +
			root + ".9.0 = No Such Object available on this agent at this OID"
		if got != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
	}
	got := run(t, "snmpget", "watch", address, root+".1.1.1")
	if !strings.Contains(got, "No Such Instance") {
		t.Errorf("no such instance: %s", got)
	}
	got = run(t, "snmpget", "wrong", address, "-t", "0.2", root+".1.1.0")
	if !strings.Contains(got, "Timeout") {
		t.Errorf("wrong community: %s", got)
	}
}

func TestNetSNMP_Walks(t *testing.T) {
	w := &world{status: 5, text: "x"}
	address, _ := serveUDP(t, w.agent(t))
	root := "." + base.String()
	var want strings.Builder
	for _, line := range []string{
		".1.1.0 = INTEGER: 5", ".1.2.0 = Counter32: 0", ".1.3.0 = STRING: \"x\"",
		".1.4.0 = Counter64: 0",
		".2.1.1 = INTEGER: 1000", ".2.1.2 = INTEGER: 2000", ".2.1.3 = INTEGER: 3000",
		".2.1.4 = INTEGER: 4000", ".3.1.0 = INTEGER: 0", ".3.2.0 = INTEGER: 0",
	} {
		want.WriteString(root + line + "\n")
	}
	for _, command := range []string{"snmpwalk", "snmpbulkwalk"} {
		t.Run(command, func(t *testing.T) {
			tool(t, command)
			got := run(t, command, "watch", address, root)
			// Net-SNMP itself says when the last name is followed by endOfMibView.
			got, _, _ = strings.Cut(got, "\n"+root+".3.2.0 = No more variables")
			if got != strings.TrimSpace(want.String()) {
				t.Errorf("got  %s\nwant %s", got, want.String())
			}
		})
	}
}

func TestNetSNMP_Set(t *testing.T) {
	tool(t, "snmpset")
	w := &world{}
	address, stop := serveUDP(t, w.agent(t))
	root := "." + base.String()
	both := func(second ...string) []string {
		return append([]string{root + ".3.1.0", "i", "4"}, second...)
	}
	for _, c := range []struct {
		community string
		args      []string
		want      string
	}{
		{"steer", both(root+".3.2.0", "s", "x"), "Reason: wrongType"},
		{"steer", both(root+".3.2.0", "i", "-1"), "Reason: wrongValue"},
		{"steer", both(root+".1.1.0", "i", "1"), "Reason: notWritable"},
		{"watch", both(), "Reason: noAccess"},
		{"steer", both(root+".3.2.0", "i", "-1"), "Failed object: " + root + ".3.2.0"},
		{"steer", both(root+".3.2.0", "i", "6"), root + ".3.2.0 = INTEGER: 6"},
	} {
		got := run(t, "snmpset", c.community, address, c.args...)
		if !strings.Contains(got, c.want) {
			t.Errorf("%v: %s, want %s", c.args, got, c.want)
		}
	}
	stop() // nothing else touches w from here on
	if w.a != 4 || w.b != 6 || len(w.told) != 1 {
		t.Errorf("a %d, b %d, told %d times", w.a, w.b, len(w.told))
	}
}
