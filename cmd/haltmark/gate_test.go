package main_test

import (
	"crypto/sha256"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// limitTrip is a short selection: one row of one outline.
const limitTrip = "@smoke && @HR-001"

func TestGate_HealthyStandInPasses(t *testing.T) {
	t.Parallel()
	runs := t.TempDir()
	out, _, code := haltmark(t, "gate", "--tags", limitTrip, "--phases", "2", "--out", runs)
	if code != 0 {
		t.Errorf("exit code %d; want 0", code)
	}
	for _, want := range []string{"PASS: ", "(partial run)", "No controller of yours was tested",
		"Caution: ", "Evidence: " + runs} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	judged(t, runs, out, code)
}

// A seeded defect fails with the requirement that its catalogue names, its
// statement, the margin with its unit and the scenario.
func TestGate_DefectFailsByName(t *testing.T) {
	t.Parallel()
	runs := t.TempDir()
	out, _, code := haltmark(t, "gate", "--tags", limitTrip, "--phases", "2", "--out", runs,
		"--defect", "software_limits_ignored")
	if code != 1 {
		t.Errorf("exit code %d; want 1", code)
	}
	line := regexp.MustCompile(
		`(?m)^fail  HR-001  An axis .*\. Margin -[0-9.]+ deg on azimuth .*; in ".*" \(features/limits`)
	if !line.MatchString(out) {
		t.Errorf("no line like %v in\n%s", line, out)
	}
	judged(t, runs, out, code)
}

func TestGate_ObstinateNamesWhatRemovedTorque(t *testing.T) {
	t.Parallel()
	out, _, code := haltmark(t, "gate", "--tags", "@smoke && @HR-020", "--phases", "1",
		"--out", t.TempDir(), "--defect", "obstinate")
	want := "HR-020: the torque of azimuth was first removed by the safety relay's delayed contact\n"
	if code != 1 || !strings.Contains(out, want) {
		t.Errorf("exit code %d, printed\n%swant 1 and %q", code, out, want)
	}
}

// A requirement that nothing exercises leaves a run open, unless it is waived.
func TestRun_WaiverLetsStand(t *testing.T) {
	t.Parallel()
	unbroken := write(t, "open.feature", strings.Replace(feature, "@HR-001", "@HR-001 @HR-018", 1))
	waivers := write(t, "waivers.yaml", "waivers:\n  - requirement: HR-018\n"+
		"    reason: the final limits are wired by hand\n    expires: 2027-03-31\n")
	for _, row := range []struct {
		flags []string
		want  int
	}{
		{nil, 2},
		{[]string{"--waivers", waivers, "--date", "2027-03-31"}, 0},
		{[]string{"--waivers", waivers, "--date", "2027-04-01"}, 2},
	} {
		runs := t.TempDir()
		args := append([]string{"run", unbroken, "--phases", "1", "--out", runs}, row.flags...)
		out, _, code := haltmark(t, args...)
		if code != row.want {
			t.Errorf("%v: exit code %d; want %d\n%s", row.flags, code, row.want, out)
		}
		judged(t, runs, out, code)
	}
}

// judged holds that judging a folder again says what the run said.
func judged(t *testing.T, runs, out string, code int) {
	t.Helper()
	again, stderr, judgedCode := haltmark(t, "judge", filepath.Join(runs, "latest"))
	if judgedCode != code {
		t.Errorf("judge ends with %d, the run did with %d\n%s", judgedCode, code, stderr)
	}
	if a, b := verdictOf(out), verdictOf(again); a != b {
		t.Errorf("judge says\n%s\nthe run said\n%s", b, a)
	}
}

// verdictOf is what was printed but progress and places.
func verdictOf(out string) string {
	var kept []string
	for line := range strings.Lines(out) {
		if !regexp.MustCompile(`^ *\d+/\d+ |^Evidence:|^Report:`).MatchString(line) {
			kept = append(kept, line)
		}
	}
	return strings.Join(kept, "")
}

// The same seed gives the same bytes, whatever the number of jobs and whenever it
// runs; another seed gives others.
func TestGate_SameSeedSameBytes(t *testing.T) {
	t.Parallel()
	run := func(flags ...string) map[string][sha256.Size]byte {
		runs := t.TempDir()
		args := append([]string{"gate", "--tags", "@smoke", "--phases", "2", "--out", runs,
			"--date", "2027-01-01"}, flags...)
		if out, _, code := haltmark(t, args...); code != 0 {
			t.Fatalf("exit code %d\n%s", code, out)
		}
		return hashes(t, filepath.Join(runs, "latest"))
	}
	first := run("--seed", "7", "--jobs", "1")
	if len(first) < 15 {
		t.Fatalf("only %d files", len(first))
	}
	compare(t, "the same again", first, run("--seed", "7", "--jobs", "1"))
	compare(t, "two jobs", first, run("--seed", "7", "--jobs", "2"))
	other, differing := run("--seed", "8"), 0
	for name, sum := range first {
		if other[name] != sum {
			differing++
		}
	}
	if differing == 0 {
		t.Error("another seed gave the same bytes")
	}
}

func compare(t *testing.T, what string, want, got map[string][sha256.Size]byte) {
	t.Helper()
	if len(want) != len(got) {
		t.Errorf("%s: %d files; want %d", what, len(got), len(want))
	}
	for name, sum := range want {
		if got[name] != sum {
			t.Errorf("%s: %s differs", what, name)
		}
	}
}

// hashes are those of a folder's files but host.json, and the seal without its line.
func hashes(t *testing.T, dir string) map[string][sha256.Size]byte {
	t.Helper()
	dir, err := filepath.EvalSymlinks(dir)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string][sha256.Size]byte{}
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || d.Name() == "host.json" {
			return err
		}
		text, err := os.ReadFile(path)
		name, _ := filepath.Rel(dir, path)
		if name == "seal.sha256" {
			text = regexp.MustCompile("(?m)^.*  host.json\n").ReplaceAll(text, nil)
		}
		found[name] = sha256.Sum256(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// A judged folder must be whole and unchanged.
func TestJudge_RefusesAChangedLimit(t *testing.T) {
	t.Parallel()
	runs := t.TempDir()
	haltmark(t, "gate", "--tags", limitTrip, "--phases", "1", "--out", runs)
	name := filepath.Join(runs, "latest", "fixtures", "station", "demo.yaml")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, append(text, "# changed\n"...), 0o644); err != nil {
		t.Fatal(err)
	}
	_, stderr, code := haltmark(t, "judge", filepath.Join(runs, "latest"))
	if code != 3 || !strings.Contains(stderr, "demo.yaml: is not as the run left it") {
		t.Errorf("exit code %d, said %q", code, stderr)
	}
}

func TestDefects_JSON(t *testing.T) {
	out, _, code := haltmark(t, "defects", "--json")
	var all []struct{ Name, Wrong, Requirement string }
	if err := json.Unmarshal([]byte(out), &all); err != nil || code != 0 {
		t.Fatalf("exit code %d, %v", code, err)
	}
	for _, d := range all {
		if d.Name == "" || d.Wrong == "" || d.Requirement == "" {
			t.Errorf("%+v lacks something", d)
		}
	}
	if last := all[len(all)-1].Name; len(all) < 9 || last != "obstinate" {
		t.Errorf("%d defects, the last %s", len(all), last)
	}
}

func TestPhrases_GroupedInOrder(t *testing.T) {
	out, _, code := haltmark(t, "phrases")
	given, when, then := strings.Index(out, "Given ("), strings.Index(out, "When ("),
		strings.Index(out, "Then (")
	if code != 0 || given != 0 || !(given < when && when < then) {
		t.Errorf("exit code %d, groups at %d, %d, %d", code, given, when, then)
	}
	if !strings.Contains(out[:when], "  {axis} rests in mid-travel\n      places the axis") {
		t.Error("a phrase lacks what it does")
	}
}
