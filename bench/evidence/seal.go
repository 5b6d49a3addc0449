package evidence

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"haltmark/bench/config"
)

// sealFile holds the SHA-256 of every other file of a folder, in the form of sha256sum.
// It is written last: a folder without one is that of a run that did not end.
const sealFile = "seal.sha256"

// notRegular stands for the hash of what is neither a folder nor a regular file, such as a
// link. No seal makes it good.
const notRegular = "no regular file"

// ErrUnsealed is the error of CheckSeal for a folder without a seal.
var ErrUnsealed = errors.New("it has no " + sealFile +
	": its run did not end, or somebody removed it")

// seal writes the seal.
func (f *Folder) seal() error {
	sums, err := f.sums()
	if err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	var b strings.Builder
	for _, name := range slices.Sorted(maps.Keys(sums)) {
		b.WriteString(sealLine(sums[name], name))
	}
	return replace(filepath.Join(f.dir, sealFile), []byte(b.String()))
}

// unseal takes the seal away before a finished folder changes.
func (f *Folder) unseal() error {
	err := os.Remove(filepath.Join(f.dir, sealFile))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("evidence: %w", err)
	}
	return nil
}

// CheckSeal compares every file of the folder with the seal. Its error is ErrUnsealed, or
// names each file that was changed, removed or added since, one a line.
func (f *Folder) CheckSeal() error {
	text, err := config.ReadFile(filepath.Join(f.dir, sealFile), config.JSONLimit)
	if errors.Is(err, fs.ErrNotExist) {
		return ErrUnsealed
	} else if err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	sums, err := f.sums()
	if err != nil {
		return fmt.Errorf("evidence: %w", err)
	}
	return compareSeal(f.dir, string(text), sums)
}

// compareSeal holds a seal against the sums of the files that are there.
func compareSeal(dir, seal string, sums map[string]string) error {
	var broken []string
	complain := func(name, what string) {
		broken = append(broken, fmt.Sprintf("%s: %s", filepath.Join(dir, filepath.FromSlash(name)), what))
	}
	told := map[string]bool{}
	for line := range strings.Lines(seal) {
		sum, name, ok := parseSeal(line)
		now, there := sums[name]
		switch {
		case !ok || told[name]:
			complain(sealFile, fmt.Sprintf("no line of a seal: %.100q", line))
		case !there:
			complain(name, "is missing; the seal lists it")
		case now == notRegular:
			complain(name, "is "+notRegular)
		case now != sum:
			complain(name, "is not as the run left it: its hash is not that of the seal")
		}
		told[name] = true
	}
	for _, name := range slices.Sorted(maps.Keys(sums)) {
		if !told[name] {
			complain(name, "was not left by the run: the seal does not list it")
		}
	}
	for _, name := range []string{hostFile, summaryFile, junitFile, cucumberFile, reportFile} {
		if !told[name] {
			complain(name, "is missing; every run that ended has one")
		}
	}
	if broken == nil {
		return nil
	}
	const most = 40
	if more := len(broken) - most; more > 0 {
		broken = append(broken[:most], fmt.Sprintf("and %d more", more))
	}
	return errors.New(strings.Join(broken, "\n"))
}

// sealEscapes are those of sha256sum, which marks a line that has any by a backslash.
var sealEscapes = []string{`\`, `\\`, "\n", `\n`, "\r", `\r`}

func sealLine(sum, name string) string {
	if escaped := strings.NewReplacer(sealEscapes...).Replace(name); escaped != name {
		return `\` + sum + "  " + escaped + "\n"
	}
	return sum + "  " + name + "\n"
}

// parseSeal reads a line, strictly: it is one that sealLine makes.
func parseSeal(line string) (sum, name string, ok bool) {
	sum, name, ok = strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
	if rest, escaped := strings.CutPrefix(sum, `\`); escaped {
		sum, name = rest, strings.NewReplacer(`\\`, `\`, `\n`, "\n", `\r`, "\r").Replace(name)
	}
	return sum, name, ok && line == sealLine(sum, name)
}

// sums is the SHA-256 of every file of the folder but the seal, by name from the folder
// with forward slashes. What is no regular file has a word of its own.
func (f *Folder) sums() (map[string]string, error) {
	sums := map[string]string{}
	root, err := filepath.EvalSymlinks(f.dir) // latest may be one
	if err != nil {
		return nil, err
	}
	return sums, filepath.WalkDir(root, func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		short, err := filepath.Rel(root, name)
		if err != nil || short == sealFile {
			return err
		}
		short = filepath.ToSlash(short)
		if sums[short] = notRegular; entry.Type().IsRegular() {
			sums[short], err = sumOf(name)
		}
		return err
	})
}

// sumOf reads piece by piece, since a record may be long.
func sumOf(name string) (string, error) {
	in, err := config.OpenFile(name, tableLimit)
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	_, err = io.Copy(sum, in)
	return hex.EncodeToString(sum.Sum(nil)), errors.Join(err, in.Close())
}
