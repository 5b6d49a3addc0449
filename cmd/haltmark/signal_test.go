package main_test

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"syscall"
	"testing"
)

// A signal stops a run: what ended is written, the folder is named, and judging it
// tells what is missing.
func TestGate_StoppedBySignal(t *testing.T) {
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		t.Run(signal.String(), func(t *testing.T) {
			t.Parallel()
			runs := t.TempDir()
			cmd := exec.Command(os.Getenv("HALTMARK_PROGRAM"), "gate", "--jobs", "1", "--corners",
				"none", "--out", runs)
			out, err := cmd.StdoutPipe()
			if err != nil {
				t.Fatal(err)
			}
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			defer func() { _ = cmd.Process.Kill() }()
			from := bufio.NewReader(out)
			if _, err := from.ReadString('\n'); err != nil { // the first scenario ended
				t.Fatal(err)
			}
			if err := cmd.Process.Signal(signal); err != nil {
				t.Fatal(err)
			}
			rest, err := io.ReadAll(from)
			if err != nil {
				t.Fatal(err)
			}
			stopped(t, cmd.Wait(), string(rest), runs)
		})
	}
}

// stopped holds how a run that was stopped ends, and what its folder says.
func stopped(t *testing.T, ended error, out, runs string) {
	t.Helper()
	var exit *exec.ExitError
	if !errors.As(ended, &exit) || exit.ExitCode() != 4 {
		t.Errorf("ended with %v; want exit code 4\n%s", ended, out)
	}
	for _, want := range []string{"The run was stopped by a signal.\n", "\nEvidence: " + runs} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	line := regexp.MustCompile(`(?m)^\d+ of \d+ scenarios? ended$`).FindString(out)
	again, stderr, code := haltmark(t, "judge", filepath.Join(runs, "latest"))
	if code != 2 || line == "" || !strings.Contains(again, line+"\n") {
		t.Errorf("judge: exit code %d; want 2 and %q in\n%s%s", code, line, again, stderr)
	}
	host, err := os.ReadFile(filepath.Join(runs, "latest", "host.json"))
	if err != nil || !bytes.Contains(host, []byte(`"complete": false`)) {
		t.Errorf("%v; host.json\n%s", err, host)
	}
}

// On the wall clock the stand-in's process ends with the run that is stopped.
func TestGate_StoppedLeavesNoStandIn(t *testing.T) {
	if testing.Short() {
		t.Skip("begins a run on the wall clock")
	}
	t.Parallel()
	runs := t.TempDir()
	cmd := exec.Command(os.Getenv("HALTMARK_PROGRAM"), "gate", "--clock", "wall", "--tags", limitTrip,
		"--phases", "1", "--out", runs)
	var out bytes.Buffer
	cmd.Stdout = &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	child := 0
	for child == 0 {
		select {
		case err := <-ended:
			t.Fatalf("no stand-in was seen before the end: %v\n%s", err, out.String())
		default:
			child = childOf(cmd.Process.Pid)
			runtime.Gosched()
		}
	}
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	stopped(t, <-ended, out.String(), runs)
	if err := syscall.Kill(child, 0); !errors.Is(err, syscall.ESRCH) {
		t.Errorf("stand-in %d: %v; want that there is no such process", child, err)
	}
}

// childOf finds the stand-in that a process started; 0 when there is none. The kernel lists the
// children of each thread (proc_pid_task(5)).
func childOf(pid int) int {
	lists, _ := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/children", pid))
	for _, list := range lists {
		text, err := os.ReadFile(list)
		child := 0
		if n, _ := fmt.Sscan(string(text), &child); err != nil || n != 1 {
			continue
		}
		line, _ := os.ReadFile(fmt.Sprintf("/proc/%d/cmdline", child))
		if strings.Contains(string(line), "\x00standin\x00") {
			return child
		}
	}
	return 0
}
