package evidence

import (
	"errors"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"haltmark/bench/seed"
)

// One byte of any file, a file less and a file more: each is named, and the folder as it
// was is sound.
func TestSeal_NamesWhatWasChanged(t *testing.T) {
	f, _ := stored(t)
	check(t, f.CheckSeal())
	draw := seed.Seed(1).Stream("bytes")
	files := tree(t, f.Path())
	for _, name := range slices.Sorted(maps.Keys(files)) {
		whole, path := files[name], filepath.Join(f.Path(), filepath.FromSlash(name))
		named := func(what string) {
			t.Helper()
			if err := f.CheckSeal(); err == nil || !strings.Contains(err.Error(), path) {
				t.Errorf("%s: %s: %v", name, what, err)
			}
		}
		for range 8 {
			one := []byte(whole)
			one[draw.IntN(len(one))] ^= byte(1 + draw.IntN(255))
			check(t, os.WriteFile(path, one, 0o644))
			if name == sealFile {
				if f.CheckSeal() == nil {
					t.Errorf("the seal with another byte:\n%s", one)
				}
				continue
			}
			named("another byte")
		}
		check(t, os.Remove(path))
		if name == sealFile {
			if err := f.CheckSeal(); !errors.Is(err, ErrUnsealed) {
				t.Errorf("without a seal: %v", err)
			}
		} else {
			named("removed")
		}
		check(t, os.WriteFile(path, []byte(whole), 0o644))
	}
	more := filepath.Join(f.Path(), scenariosDir, "more")
	check(t, os.Symlink(f.Path(), more))
	if err := f.CheckSeal(); err == nil || !strings.Contains(err.Error(), more) {
		t.Errorf("one more: %v", err)
	}
	check(t, os.Remove(more))
	check(t, f.CheckSeal())
}

// Each byte of the seal itself counts: none can be changed without notice.
func TestSeal_EveryByteOfItself(t *testing.T) {
	f, _ := stored(t)
	sums, err := f.sums()
	check(t, err)
	text, err := os.ReadFile(filepath.Join(f.Path(), sealFile))
	check(t, err)
	check(t, compareSeal(f.Path(), string(text), sums))
	for i := range text {
		for _, flip := range []byte{1, 0x20, 0x80} {
			text[i] ^= flip
			if compareSeal(f.Path(), string(text), sums) == nil {
				t.Errorf("byte %d with %#x changed is not seen", i, flip)
			}
			text[i] ^= flip
		}
	}
	lines := strings.SplitAfter(string(text), "\n")
	for i := range lines[:len(lines)-1] {
		twice := strings.Join(slices.Insert(slices.Clone(lines), i, lines[i]), "")
		less := strings.Join(slices.Delete(slices.Clone(lines), i, i+1), "")
		if compareSeal(f.Path(), twice, sums) == nil || compareSeal(f.Path(), less, sums) == nil {
			t.Errorf("line %d twice or gone is not seen", i+1)
		}
	}
}

// Anybody can check a seal: GNU coreutils sha256sum reads it, names with escapes too.
func TestSeal_IsThatOfSha256sum(t *testing.T) {
	program, err := exec.LookPath("sha256sum")
	if err != nil {
		t.Skip("sha256sum is not installed")
	}
	f, r := stored(t)
	odd := filepath.Join(f.Path(), "a\\b\nc")
	check(t, os.WriteFile(odd, []byte("odd"), 0o644))
	check(t, f.Finish(r, Host{}))
	check(t, f.CheckSeal())
	run := func() error {
		c := exec.Command(program, "--check", "--strict", "--quiet", sealFile)
		c.Dir = f.Path()
		return c.Run()
	}
	if err := run(); err != nil {
		t.Errorf("sha256sum: %v", err)
	}
	check(t, os.WriteFile(odd, []byte("other"), 0o644))
	if run() == nil {
		t.Error("sha256sum does not see what CheckSeal sees")
	}
}

// A run that was killed while it finished again has no seal.
func TestSeal_IsGoneWhileAFolderChanges(t *testing.T) {
	f, r := stored(t)
	report := filepath.Join(f.Path(), reportFile)
	check(t, os.Remove(report))
	check(t, os.Mkdir(report, 0o755)) // which no file replaces
	if f.Finish(r, Host{}) == nil {
		t.Fatal("it finished; the test shows nothing")
	}
	if err := f.CheckSeal(); !errors.Is(err, ErrUnsealed) {
		t.Error(err)
	}
}
