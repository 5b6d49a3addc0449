package main_test

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// TestMain builds the program once; the tests run it as a person would, since
// `go run` would turn exit codes into its own.
func TestMain(m *testing.M) { os.Exit(withProgram(m)) }

func withProgram(m *testing.M) int {
	dir, err := os.MkdirTemp("", "haltmark-test-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	name := filepath.Join(dir, "haltmark")
	build := exec.Command("go", "build", "-o", name, ".")
	build.Stderr = os.Stderr
	if err := build.Run(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	if err := os.Setenv("HALTMARK_PROGRAM", name); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return m.Run()
}

// haltmark runs the program and returns what it prints and its exit code.
func haltmark(t *testing.T, args ...string) (stdout, stderr string, code int) {
	t.Helper()
	cmd := exec.Command(os.Getenv("HALTMARK_PROGRAM"), args...)
	out, err := cmd.Output()
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		return string(out), string(exit.Stderr), exit.ExitCode()
	case err != nil:
		t.Fatal(err)
	}
	return string(out), "", 0
}

// write puts a file into a fresh folder.
func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}
