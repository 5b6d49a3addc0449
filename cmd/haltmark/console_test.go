package main

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"haltmark/bench/campaign"
	"haltmark/bench/verdict"
)

// broken is an output that the bench breaks at.
type broken struct{}

func (broken) Write([]byte) (int, error) { panic("the output is broken") }

// A panic is the bench's failure, with its place; Go's own exit code 2 would be read as
// not decided.
func TestRun_APanicIsTheBenchsFailure(t *testing.T) {
	var said bytes.Buffer
	code := run([]string{"version"}, &console{out: broken{}, err: &said})
	if code != verdict.ExitBenchFailed {
		t.Errorf("exit code %d; want %d", code, verdict.ExitBenchFailed)
	}
	for _, want := range []string{"haltmark: the bench failed: the output is broken\n",
		"console_test.go:"} {
		if !strings.Contains(said.String(), want) {
			t.Errorf("no %q in\n%s", want, said.String())
		}
	}
}

// What a terminal obeys (ECMA-48: ESC, and the C1 controls such as CSI), what clears a
// line, and what reverses a line's order (Unicode bidirectional controls) is shown, not
// sent; letters of any alphabet stay.
func TestConsole_ShowsWhatATerminalWouldObey(t *testing.T) {
	const text = "name \x1b]0;owned\a \u009b2J \r\n\u202egnp \x7f\xff\t Größe µ 漢字 \\"
	const want = `name \x1b]0;owned\a \u009b2J \r\n\u202egnp \x7f\xff\t Größe µ 漢字 \`
	var out, complaints bytes.Buffer
	c := &console{out: &out, err: &complaints}
	c.say("%s: good\nand so", text)
	c.complain("%v", errors.New("one \x1b[2J\ntwo"))
	c.progress(text)
	if got := out.String(); got != want+": good\nand so\n"+want+"\n" {
		t.Errorf("said\n%q", got)
	}
	if got := complaints.String(); got != "one \\x1b[2J\ntwo\n" {
		t.Errorf("complained\n%q", got)
	}
	c.width = 12
	complaints.Reset()
	if c.progress(text); complaints.String() != "\r\x1b[Kname \\x1b]0" {
		t.Errorf("progress %q", complaints.String())
	}
}

// Of very many problems the first are printed, and how many more there are.
func TestConsole_BoundsWhatItComplainsOf(t *testing.T) {
	var said bytes.Buffer
	c := &console{err: &said}
	code := c.exitCode(campaign.BadInput(strings.Split(strings.Repeat("bad\n", 4999)+"bad", "\n")))
	if code != verdict.ExitBadInput || strings.Count(said.String(), "bad\n") != complaintLimit ||
		!strings.HasSuffix(said.String(), "\nand 4900 more; mend these first\n") {
		t.Errorf("exit code %d, said\n%s", code, said.String())
	}
}
