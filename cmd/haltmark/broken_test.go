package main_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// ran is the folder of a short run of three scenarios.
func ran(t *testing.T, flags ...string) string {
	t.Helper()
	runs := t.TempDir()
	args := append([]string{"gate", "--tags", "@smoke", "--phases", "1", "--out", runs}, flags...)
	if out, stderr, code := haltmark(t, args...); code > 1 {
		t.Fatalf("exit code %d\n%s%s", code, out, stderr)
	}
	dir, err := filepath.EvalSymlinks(filepath.Join(runs, "latest"))
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

// unsealed takes the seal away: a run that was killed has none.
func unsealed(t *testing.T, dir string) {
	t.Helper()
	if err := os.Remove(filepath.Join(dir, "seal.sha256")); err != nil {
		t.Fatal(err)
	}
}

// scenarioOf finds a scenario's folder by its number.
func scenarioOf(t *testing.T, dir, number string) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, "scenarios", number+"-*"))
	if err != nil || len(found) != 1 {
		t.Fatalf("scenario %s: %v, %v", number, found, err)
	}
	return found[0]
}

// A run that was killed, or that lost a scenario later, is no pass.
func TestJudge_WhatDidNotEndIsNoPass(t *testing.T) {
	t.Parallel()
	dir := ran(t)
	if out, _, code := haltmark(t, "judge", dir); code != 0 || strings.Contains(out, "ended") {
		t.Fatalf("whole: exit code %d\n%s", code, out)
	}
	unsealed(t, dir)
	if out, _, code := haltmark(t, "judge", dir); code != 2 || !strings.Contains(out, "seal.sha256") {
		t.Errorf("killed at its last line: exit code %d\n%s", code, out)
	}
	for i, want := range []string{"2 of 3 scenarios ended\n", "1 of 3 scenarios ended\n",
		"0 of 3 scenarios ended\n"} {
		number := []string{"002", "001", "003"}[i]
		if err := os.RemoveAll(scenarioOf(t, dir, number)); err != nil {
			t.Fatal(err)
		}
		out, stderr, code := haltmark(t, "judge", dir)
		if code != 2 || !strings.Contains(out, want) || !strings.Contains(out, "INCONCLUSIVE: ") {
			t.Errorf("exit code %d; want 2 and %q in\n%s%s", code, want, out, stderr)
		}
		if !strings.Contains(out, "the scenario did not end") || strings.Contains(out, "PASS: ") {
			t.Errorf("no scenario that did not end in\n%s", out)
		}
		if i == 2 && strings.Count(out, "\nnot exercised  HR-") < 3 {
			t.Errorf("the requirements of all three are not listed as not exercised\n%s", out)
		}
	}
}

// What is not of a run is refused by name: a record of the same scenario with
// another seed, the scenarios of a run with another defect.
func TestJudge_RefusesAnothersRecords(t *testing.T) {
	t.Parallel()
	dir, other := ran(t), ran(t, "--seed", "2")
	bad := ran(t, "--defect", "software_limits_ignored")
	phase := filepath.Join(scenarioOf(t, dir, "002"), "phase-01")
	replaced(t, phase, filepath.Join(scenarioOf(t, other, "002"), "phase-01"))
	_, stderr, code := haltmark(t, "judge", dir)
	if code != 3 || !strings.Contains(stderr, phase) {
		t.Errorf("another's record: exit code %d; want 3 and %s in\n%s", code, phase, stderr)
	}
	replaced(t, filepath.Join(bad, "scenarios"), filepath.Join(other, "scenarios"))
	_, stderr, code = haltmark(t, "judge", bad)
	if code != 3 || !strings.Contains(stderr, scenarioOf(t, bad, "001")) {
		t.Errorf("another's scenarios: exit code %d; want 3 and the folder in\n%s", code, stderr)
	}
}

// replaced puts a copy of a folder in place of another.
func replaced(t *testing.T, to, from string) {
	t.Helper()
	if err := os.RemoveAll(to); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
}

// An empty name, a file in place of a folder, half a device sheet: one clear line.
func TestBadInput_EmptyAndCutOff(t *testing.T) {
	file := write(t, "file.txt", "a file\n")
	nothing := write(t, "nothing.json", "{}")
	cut := write(t, "cut.json", `{"station": "demo", "dev`)
	const sheet = "is not what `haltmark serve --json` prints"
	for _, row := range []struct {
		want string
		args []string
	}{
		{`expected one of "gate"`, nil},
		{`--date "": no day`, []string{"gate", "--date", ""}},
		{"--out: the name of the folder is empty", []string{"gate", "--out", ""}},
		{"--out " + file + ": cannot be made a folder", []string{"gate", "--out", file}},
		{"--out /proc/foo: ", []string{"gate", "--out", "/proc/foo"}},
		{"--station: the name is empty", []string{"gate", "--station", ""}},
		{"--controller: the name is empty", []string{"run", "limits", "--controller", ""}},
		{"--station: the name is empty", []string{"serve", "--station", ""}},
		{"--station: the name is empty", []string{"standin", "--devices", nothing, "--station", ""}},
		{sheet, []string{"standin", "--devices", nothing}},
		{sheet, []string{"standin", "--devices", cut}},
		{"not a run folder", []string{"judge", "../../go.mod"}},
		{"not a run folder", []string{"judge", file}},
	} {
		out, stderr, code := haltmark(t, row.args...)
		if code != 3 || !strings.Contains(stderr, row.want) || strings.Count(stderr, "\n") != 1 {
			t.Errorf("%q: exit code %d, said %q; want 3 and one line with %q", row.args, code,
				stderr, row.want)
		}
		if out != "" {
			t.Errorf("%q: something ran:\n%s", row.args, out)
		}
	}
}
