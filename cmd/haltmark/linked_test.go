package main

import (
	"bytes"
	"strings"
	"testing"
)

// What the program prints of itself within the test is what it prints as a program. The
// test also links the program's code into the test binary: the other tests only build
// and run it, and their cached results would outlive its changes.
func TestRun_InProcess(t *testing.T) {
	var out, said bytes.Buffer
	if code := run([]string{"phrases"}, &console{out: &out, err: &said}); code != 0 {
		t.Errorf("exit code %d, said %q", code, said.String())
	}
	if !strings.HasPrefix(out.String(), "Given (") {
		t.Errorf("printed %.100q", out.String())
	}
}
