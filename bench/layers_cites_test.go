package bench

import (
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// What a comment cites: a page by its file, or a page of the design by its bare name.
var (
	citedFile = regexp.MustCompile(`[\w./-]+\.md\b`)
	citedName = regexp.MustCompile(`\b(?:DESIGN|HAZARDS|STATIONS|REFERENCES|STYLE)\b`)
)

// cites lists the pages that a line of a file names and that are not in the repository.
func cites(name, line string, here func(string) bool) []string {
	var found []string
	for _, page := range citedFile.FindAllString(line, -1) {
		if !here(page) && !here(path.Join(path.Dir(name), page)) {
			found = append(found, page)
		}
	}
	for _, page := range citedName.FindAllString(line, -1) {
		if !slices.Contains(found, page+".md") {
			found = append(found, page)
		}
	}
	return found
}

// commentary is what a file says to a reader: all of it, or of Go its comments, by line.
func commentary(name string, text []byte) (map[int]string, error) {
	said := map[int]string{}
	if path.Ext(name) != ".go" {
		for i, line := range strings.Split(string(text), "\n") {
			said[i+1] = line
		}
		return said, nil
	}
	s, err := parse(name, text)
	if err != nil {
		return nil, err
	}
	for _, group := range s.file.Comments {
		for _, comment := range group.List {
			first := s.set.Position(comment.Pos()).Line
			for i, line := range strings.Split(comment.Text, "\n") {
				said[first+i] += line
			}
		}
	}
	return said, nil
}

// A figure's source must be there for whoever reads the figure.
func TestHouse_CitesOnlyWhatIsHere(t *testing.T) {
	const root = ".."
	here := func(page string) bool {
		_, err := os.Stat(filepath.Join(root, filepath.FromSlash(page)))
		return err == nil
	}
	kinds := []string{".go", ".yaml", ".yml", ".feature", ".md", ".py", ".txt"}
	read := 0
	err := filepath.WalkDir(root, func(at string, entry fs.DirEntry, err error) error {
		name := filepath.ToSlash(strings.TrimPrefix(at, root+string(filepath.Separator)))
		hidden := at != root && strings.HasPrefix(entry.Name(), ".")
		switch {
		case err != nil:
			return err
		case entry.IsDir() && (hidden || name == "runs"):
			return filepath.SkipDir
		case entry.IsDir() || !slices.Contains(kinds, path.Ext(name)):
			return nil
		}
		read++
		text, err := os.ReadFile(at)
		if err != nil {
			return err
		}
		said, err := commentary(name, text)
		for number, line := range said {
			for _, page := range cites(name, line, here) {
				t.Errorf("%s:%d: cites %s, which is not in the repository", name, number, page)
			}
		}
		return err
	})
	if err != nil || read < 100 {
		t.Fatalf("%d files read, %v", read, err)
	}
}

func TestCites_FindsWhatIsNotHere(t *testing.T) {
	here := func(page string) bool {
		return page == "README.md" || page == "testdata/plant/SOURCES.md"
	}
	for line, want := range map[string]string{
		"// see README.md and ../README.md": "[]",
		"// see SOURCES.md":                 "[]",
		"// see testdata/SOURCES.md":        "[testdata/SOURCES.md]",
		"// relay 20 ms (DESIGN.md 6.1)":    "[DESIGN.md]",
		"// the rows of STATIONS, rule 3":   "[STATIONS]",
		"// a station's design is no page":  "[]",
	} {
		name := "testdata/plant/reference.py"
		if strings.Contains(line, "../") {
			name = "bench/a.go"
		}
		if got := fmt.Sprint(cites(name, line, here)); got != want {
			t.Errorf("%s: %s, want %s", line, got, want)
		}
	}
}
