package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// inTheTree goes where the subcommand wants to be.
func inTheTree(t *testing.T) {
	t.Helper()
	t.Chdir(filepath.Join("..", ".."))
}

func qualify(t *testing.T, args ...string) (stdout, stderr string, code int) {
	t.Helper()
	var out, said bytes.Buffer
	code = run(append([]string{"qualify"}, args...), &console{out: &out, err: &said})
	return out.String(), said.String(), code
}

// assumeHealthy writes what a run without a mutant would have found.
func assumeHealthy(t *testing.T, out, of string) {
	t.Helper()
	key, err := treeKey(of, "demo", "2", "false")
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(healthy{Key: key, Suites: []time.Duration{10 * time.Second},
		Gate: time.Minute})
	if err == nil {
		err = os.WriteFile(filepath.Join(out, "healthy.json"), text, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// mutantOf finds the id of a mutant by what it changes.
func mutantOf(t *testing.T, listing, what string) string {
	t.Helper()
	for line := range strings.Lines(listing) {
		if strings.Contains(line, what) {
			id, _, _ := strings.Cut(line, " ")
			return id
		}
	}
	t.Fatalf("no mutant %q", what)
	return ""
}

// A mutant is killed by its package's tests, and is not tried again on the same sources.
func TestQualify_TestsKillAndAreRemembered(t *testing.T) {
	inTheTree(t)
	out := t.TempDir()
	assumeHealthy(t, out, "interlock")
	listing, _, _ := qualify(t, "--of", "interlock", "--list")
	id := mutantOf(t, listing, "Unit.Step  statement dropped")
	said, _, code := qualify(t, "--of", "interlock", "--only", id, "--out", out)
	if code != 0 || !strings.Contains(said, "  1/1  killed by tests  "+id) ||
		!strings.Contains(said, "killed 1 of 1 mutants that compile, 100.0 %") {
		t.Fatalf("exit code %d\n%s", code, said)
	}
	said, _, code = qualify(t, "--of", "interlock", "--only", id, "--out", out)
	if code != 0 || !strings.Contains(said, "1 of 1 mutants were tried before") ||
		strings.Contains(said, "  1/1  ") {
		t.Errorf("again: exit code %d\n%s", code, said)
	}
	matrix, err := os.ReadFile(filepath.Join(out, "matrix.tsv"))
	if err != nil || !strings.Contains(string(matrix), "\n"+id+"\temulators/interlock/") {
		t.Errorf("matrix %q, %v", matrix, err)
	}
	one, _, _ := qualify(t, "--of", "interlock", "--list", "--only", id)
	if lines := strings.Split(one, "\n"); len(lines) != 4 || !strings.HasPrefix(lines[1], "- ") ||
		!strings.HasPrefix(lines[2], "+ ") {
		t.Errorf("listed as %q", one)
	}
	now, _, _ := qualify(t, "--of", "interlock", "--list")
	if now != listing {
		t.Error("the tree was changed")
	}
}

// What does not compile is told apart, and no test is tried.
func TestQualify_NotCompiled(t *testing.T) {
	inTheTree(t)
	dir := t.TempDir()
	changed, overlay := filepath.Join(dir, "unit.go"), filepath.Join(dir, "overlay.json")
	err := os.WriteFile(changed, []byte("package interlock\n\nvar one int = \"two\"\n"), 0o644)
	if err == nil {
		err = os.WriteFile(overlay, []byte(`{"Replace": {"emulators/interlock/unit.go": "`+
			filepath.ToSlash(changed)+`"}}`), 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
	b := &trialBench{qualification: &qualification{subject: subjects["interlock"]}}
	r := result{Outcome: survived}
	if err := b.judge(context.Background(), dir, overlay, &r); err != nil || r.Outcome != notCompiled {
		t.Errorf("%s, %v", r.Outcome, err)
	}
}

func TestQualify_BadInput(t *testing.T) {
	inTheTree(t)
	for _, row := range []struct{ flags, want string }{
		{"--of moon", "--of must be one of"},
		{"--of interlock --seed x", "--seed: "},
		{"--of interlock --phases 0", "--phases 0: need 1 to 1000"},
		{"--of interlock --jobs 0", "--jobs 0 --sample 0: need 1 or more jobs"},
		{"--of interlock --only nothing", "--only nothing: no mutant of interlock has such an id"},
	} {
		t.Run(row.flags, func(t *testing.T) {
			_, said, code := qualify(t, append(strings.Fields(row.flags), "--out", t.TempDir())...)
			if code != 3 || !strings.Contains(said, row.want) {
				t.Errorf("exit code %d, said %q", code, said)
			}
		})
	}
}

func TestQualify_WantsTreeAndGo(t *testing.T) {
	t.Chdir(t.TempDir())
	var said bytes.Buffer
	code := run([]string{"qualify", "--of", "drive"}, &console{out: &said, err: &said})
	if code != 3 || !strings.Contains(said.String(), "run it in the folder of the project's go.mod") {
		t.Errorf("exit code %d, said %q", code, said.String())
	}
	t.Setenv("PATH", "")
	said.Reset()
	code = run([]string{"qualify", "--of", "drive"}, &console{out: &said, err: &said})
	if code != 3 || !strings.Contains(said.String(), "there is no go") {
		t.Errorf("without go: exit code %d, said %q", code, said.String())
	}
}

// A gate that never pauses: the first scenario that does not pass ends it.
const gateScript = `#!/bin/sh
while [ $# -gt 0 ]; do [ "$1" = --out ] && out=$2; shift; done
mkdir -p "$out/latest"
cat > "$out/latest/summary.json" <<'END'
{"scenarios": [
 {"name": "one", "path": "features/a.feature", "line": 3, "verdict": "pass"},
 {"name": "two", "path": "features/a.feature", "line": 9, "verdict": "fail",
  "measurements": [{"requirement": "HR-900", "verdict": "pass"},
                   {"requirement": "HR-901", "verdict": "fail"}],
  "watches": [{"requirement": "HR-902", "verdict": "fail"}]}]}
END
trap 'exit 1' INT
echo '  1/3  pass          features/a.feature:3  one'
echo '  2/3  fail          features/a.feature:9  two'
[ -n "$STAY" ] && while :; do sleep 0.05; done
exit 2
`

func script(t *testing.T, text string) string {
	t.Helper()
	if _, err := exec.LookPath("sh"); err != nil {
		t.Skip("no sh: ", err)
	}
	name := filepath.Join(t.TempDir(), "gate")
	if err := os.WriteFile(name, []byte(text), 0o755); err != nil {
		t.Fatal(err)
	}
	return name
}

func TestGateOnce_EndsAtTheFirstFailure(t *testing.T) {
	t.Setenv("STAY", "yes")
	b := &trialBench{qualification: &qualification{qualifyCommand: &qualifyCommand{}}}
	caught, err := b.gateOnce(context.Background(), script(t, gateScript))
	if err != nil || len(caught) != 1 || caught[0].Verdict != "fail" ||
		caught[0].Scenario != "features/a.feature:9 two" ||
		strings.Join(caught[0].Requirements, " ") != "HR-901 HR-902" {
		t.Errorf("caught %+v, %v", caught, err)
	}
}

func TestGateOnce_AllRequirementsWait(t *testing.T) {
	q := &qualifyCommand{AllRequirements: true}
	b := &trialBench{qualification: &qualification{qualifyCommand: q}}
	caught, err := b.gateOnce(context.Background(), script(t, gateScript))
	if err != nil || len(caught) != 1 {
		t.Errorf("caught %+v, %v", caught, err)
	}
}

func TestGateOnce_WithoutASummary(t *testing.T) {
	b := &trialBench{qualification: &qualification{qualifyCommand: &qualifyCommand{}}}
	for text, want := range map[string]string{
		"#!/bin/sh\nexit 3\n": "refused as bad input",
		"#!/bin/sh\nexit 4\n": "ended with exit code 4",
	} {
		caught, err := b.gateOnce(context.Background(), script(t, text))
		if err != nil || len(caught) != 1 || caught[0].Scenario != want {
			t.Errorf("%q: caught %+v, %v", text, caught, err)
		}
	}
	if caught, err := b.gateOnce(context.Background(), script(t, "#!/bin/sh\n")); caught != nil {
		t.Errorf("a gate that passes: caught %+v, %v", caught, err)
	}
}

// A process is ended with its children at the deadline, and by a signal to the bench.
func TestRunUntil_Ends(t *testing.T) {
	name := script(t, "#!/bin/sh\nsleep 60\n")
	code, _, err := finish(context.Background(), 100*time.Millisecond, name)
	if code != killed || err != nil {
		t.Errorf("at its deadline: %d, %v", code, err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err = finish(ctx, time.Minute, name); err == nil {
		t.Error("no error after a signal")
	}
}

func TestFailedTest_Named(t *testing.T) {
	for said, want := range map[string]string{
		"--- FAIL: TestA (0.1s)\n    --- FAIL: TestA/b":          "TestA",
		"panic: test timed out after 1s\n--- FAIL: TestA (0.1s)": byDeadline,
		"FAIL haltmark/a [build failed]":                         "the build of the tests",
		"signal: killed":                                         "a test that ended the process",
	} {
		if got := failedTest(1, said); got != want {
			t.Errorf("%q: %s, want %s", said, got, want)
		}
	}
	if got := failedTest(killed, ""); got != byDeadline {
		t.Errorf("a killed one: %s", got)
	}
}

// The key changes with the settings, and does not look into hidden folders and runs.
func TestTreeKey_Settings(t *testing.T) {
	t.Chdir(t.TempDir())
	put := func(name, text string) {
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	var keys []string
	key := func(settings ...string) {
		k, err := treeKey(settings...)
		if err != nil {
			t.Fatal(err)
		}
		keys = append(keys, k)
	}
	put("a.go", "1")
	key("x")
	put("runs/a.go", "1")
	put(".hidden/a.go", "1")
	put("notes.md", "1")
	key("x")
	if keys[0] != keys[1] {
		t.Error("the key looks at what decides nothing")
	}
	key("y")
	put("fixtures/a.yaml", "1")
	key("x")
	put("a.go", "2")
	key("x")
	slices.Sort(keys)
	if got := len(slices.Compact(keys)); got != 4 {
		t.Errorf("%d different keys, want 4", got)
	}
}
