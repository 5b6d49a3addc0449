package main_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// sliced is a short selection of three cases, one of which the defect fails.
func sliced(t *testing.T, flags ...string) (latest, out string, code int) {
	t.Helper()
	runs := t.TempDir()
	args := append([]string{"gate", "--tags", "@smoke", "--phases", "1", "--date", "2027-01-01",
		"--defect", "software_limits_ignored", "--out", runs}, flags...)
	out, stderr, code := haltmark(t, args...)
	if code > 2 {
		t.Fatalf("exit code %d\n%s%s", code, out, stderr)
	}
	return filepath.Join(runs, "latest"), out, code
}

// merge joins folders.
func merge(t *testing.T, folders ...string) (latest, out string, code int) {
	t.Helper()
	runs := t.TempDir()
	out, stderr, code := haltmark(t, append([]string{"merge", "--out", runs}, folders...)...)
	if code > 2 {
		t.Fatalf("exit code %d\n%s%s", code, out, stderr)
	}
	return filepath.Join(runs, "latest"), out, code
}

// The slices of a plan, joined in any order, leave the bytes of the whole.
func TestMerge_SlicesEqualTheWhole(t *testing.T) {
	t.Parallel()
	waivers := write(t, "waivers.yaml", "waivers:\n  - requirement: HR-001\n"+
		"    reason: tried here\n    expires: 2027-03-31\n")
	for name, flags := range map[string][]string{
		"nominal":     nil,
		"waived":      {"--waivers", waivers},
		"all corners": {"--corners", "all", "--tags", limitTrip},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			whole, said, code := sliced(t, flags...)
			var parts []string
			for _, slice := range []string{"2/3", "3/3", "1/3"} {
				part, out, _ := sliced(t, append(flags, "--slice", slice)...)
				if parts = append(parts, part); strings.Contains(out, "scenarios ended") {
					t.Errorf("slice %s lacks some of its cases\n%s", slice, out)
				}
			}
			merged, out, mergedCode := merge(t, parts...)
			compare(t, "merged", hashes(t, whole), hashes(t, merged))
			if a, b := verdictOf(said), verdictOf(out); code != mergedCode || a != b {
				t.Errorf("exit code %d; want %d; merge says\n%s\nthe whole said\n%s", mergedCode, code, b, a)
			}
		})
	}
}

// Whatever is not the whole of one run is not decided, and says why.
func TestMerge_NotDecidedUnlessWhole(t *testing.T) {
	t.Parallel()
	slice := func(of string, flags ...string) string {
		latest, _, _ := sliced(t, append([]string{"--tags", "@smoke && ~@HR-001", "--slice", of},
			flags...)...)
		return latest
	}
	one, two := slice("1/2"), slice("2/2")
	if _, out, code := merge(t, one, two); code != 0 {
		t.Fatalf("the whole: exit code %d\n%s", code, out)
	}
	for name, row := range map[string]struct {
		folders []string
		want    string
	}{
		"missing":     {[]string{one}, "1 of 2 scenarios ended"},
		"twice":       {[]string{one, two, one}, "scenario 1 is left out: it is in "},
		"overlapping": {[]string{one, two, slice("1/3")}, "scenario 1 is left out: it is in "},
		"other seed": {[]string{one, two, slice("1/2", "--seed", "2")},
			"of another run than " + one + ": seed 2, not 1"},
		"other station": {[]string{one, slice("2/2", "--station", "large")},
			": station large, not demo"},
		"other build": {[]string{one, two, otherBuild(t, slice("2/2"))}, ": build 00, not "},
	} {
		t.Run(name, func(t *testing.T) {
			latest, out, code := merge(t, row.folders...)
			if code != 2 || !strings.Contains(out, row.want) {
				t.Errorf("exit code %d, no %q in\n%s", code, row.want, out)
			}
			summary, err := os.ReadFile(filepath.Join(latest, "summary.json"))
			if err != nil || !strings.Contains(string(summary), `"verdict": "inconclusive"`) {
				t.Errorf("%v; summary\n%.300s", err, summary)
			}
		})
	}
}

// A slice's folder that leads elsewhere is refused, not followed.
func TestMerge_FollowsNoLink(t *testing.T) {
	t.Parallel()
	part, _, _ := sliced(t, "--slice", "1/3")
	secret := write(t, "secret.txt", "not evidence")
	phases, err := filepath.Glob(filepath.Join(part, "scenarios", "*", "phase-*"))
	if err != nil || len(phases) == 0 {
		t.Fatalf("%v, %v", phases, err)
	}
	link := filepath.Join(phases[0], "link.txt")
	if err := os.Symlink(secret, link); err != nil {
		t.Fatal(err)
	}
	runs := t.TempDir()
	_, stderr, code := haltmark(t, "merge", part, "--out", runs)
	if code != 3 || !strings.Contains(stderr, "link.txt: was not left by the run") {
		t.Errorf("sealed: exit code %d, said %q", code, stderr)
	}
	// Also with a seal that somebody made to fit.
	seal := filepath.Join(part, "seal.sha256")
	text, err := os.ReadFile(seal)
	if err != nil {
		t.Fatal(err)
	}
	name, _ := filepath.Rel(part, link)
	text = fmt.Appendf(text, "no regular file  %s\n", filepath.ToSlash(name))
	if err := os.WriteFile(seal, text, 0o644); err != nil {
		t.Fatal(err)
	}
	_, stderr, code = haltmark(t, "merge", part, "--out", runs)
	if code != 3 || !strings.Contains(stderr, "link.txt: is no regular file") {
		t.Errorf("exit code %d, said %q", code, stderr)
	}
}

// otherBuild makes the folder one of another build.
func otherBuild(t *testing.T, latest string) string {
	t.Helper()
	name := filepath.Join(latest, "manifest.json")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(text), `"build_sha256": "`)
	if !found {
		t.Fatal("the manifest has no build")
	}
	build, _, _ := strings.Cut(rest, `"`)
	changed := strings.Replace(string(text), build, "00", 1)
	if err := os.WriteFile(name, []byte(changed), 0o644); err != nil {
		t.Fatal(err)
	}
	return latest
}

func TestMerge_BadInput(t *testing.T) {
	t.Parallel()
	whole, _, _ := sliced(t)
	empty := t.TempDir()
	for name, row := range map[string]struct {
		args []string
		want string
	}{
		"no run":   {[]string{"merge", empty}, empty + " has no manifest.json"},
		"no slice": {[]string{"merge", whole}, whole + ": is the folder of no slice"},
		"no part": {[]string{"gate", "--corners", "none", "--slice", "4/3"},
			`--slice: "4/3" is not a slice`},
		"worst corners": {[]string{"gate", "--slice", "1/3"},
			"--slice 1/3: the worst corners are found among all scenarios; give --corners none or"},
		"nothing in it": {[]string{"gate", "--tags", limitTrip, "--slice", "2/2"},
			"--slice 2/2: none of 1 scenarios is in it"},
	} {
		runs := t.TempDir()
		_, stderr, code := haltmark(t, append(row.args, "--out", runs)...)
		if code != 3 || !strings.Contains(stderr, row.want) {
			t.Errorf("%s: exit code %d, said %q", name, code, stderr)
		}
		if left, err := os.ReadDir(runs); err != nil || len(left) > 0 {
			t.Errorf("%s: %v left in the folder, %v", name, left, err)
		}
	}
}

// A slice by itself is judged by what it tried, and judged again so.
func TestSlice_JudgedByItself(t *testing.T) {
	t.Parallel()
	codes := map[int]int{}
	for _, slice := range []string{"1/3", "2/3", "3/3"} {
		latest, out, code := sliced(t, "--slice", slice)
		if !strings.Contains(out, "(partial run, slice "+slice+")") {
			t.Errorf("slice %s is not told in\n%s", slice, out)
		}
		judged(t, filepath.Dir(latest), out, code)
		codes[code]++
	}
	if codes[0] != 2 || codes[1] != 1 { // the defect fails one case
		t.Errorf("exit codes %v; want two of 0 and one of 1", codes)
	}
	// One of all scenarios: what the others would show is not asked.
	out, _, code := haltmark(t, "gate", "--corners", "none", "--phases", "1", "--slice", "1/1000",
		"--out", t.TempDir())
	if code != 0 || !strings.Contains(out, "1 of 1 scenarios passed") {
		t.Errorf("one scenario of a gate: exit code %d\n%s", code, out)
	}
}
