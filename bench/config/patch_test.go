package config

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
)

// patchFile is one file of testdata/config: bad input, each a few edits on a file that
// ships, so that it cannot drift from it.
type patchFile struct {
	On      string  `yaml:"on"` // shipped file that a patch is on unless it says otherwise
	Patches []patch `yaml:"patches"`
}

// patch is one bad input. A key's path is as messages have it; an item of a list is
// named by its number or by its first value, such as points[speed].
type patch struct {
	Name string `yaml:"name"`
	On   string `yaml:"on"`   // the shipped file that is edited
	Load string `yaml:"load"` // the one that is loaded, the edited one beside it; On if not given
	In   string `yaml:"in"`   // the one that is blamed; On if not given

	Whole   *string           `yaml:"whole"`   // a text of its own instead of the shipped one
	Set     map[string]string `yaml:"set"`     // a key's value becomes this text
	Rename  map[string]string `yaml:"rename"`  // a key gets this name
	Insert  map[string]string `yaml:"insert"`  // lines behind a key and its value, as far in
	Remove  []string          `yaml:"remove"`  // a key that has lines of its own
	Replace map[string]string `yaml:"replace"` // a text that stands there once
	Append  string            `yaml:"append"`  // at the end of the file

	complaint `yaml:",inline"`
	Also      []complaint `yaml:"also"` // what else is reported; its place is that above if not given
}

// complaint is a problem that must be reported: some words of it, and the line, that of
// a key or of a text that stands there once. By default it is the line of the one edit.
type complaint struct {
	At   string `yaml:"at"`
	Line string `yaml:"line"`
	Says string `yaml:"says"`
}

// readPatches reads a file of patches, strictly.
func readPatches(name string) (patchFile, error) {
	text, err := os.ReadFile(name)
	if err != nil {
		return patchFile{}, err
	}
	decoder := yaml.NewDecoder(bytes.NewReader(text))
	decoder.KnownFields(true)
	var f patchFile
	if err := decoder.Decode(&f); err != nil {
		return patchFile{}, err
	}
	for i := range f.Patches {
		p := &f.Patches[i]
		if p.On == "" {
			p.On = f.On
		}
		if p.Load == "" {
			p.Load = p.On
		}
		if p.In == "" {
			p.In = p.On
		}
		if p.Name == "" || p.Says == "" || p.On == "" {
			return f, fmt.Errorf("patch %d lacks a name, a file or words of its message", i)
		}
	}
	return f, nil
}

// shipped is the text of a file that ships, such as stations/demo.yaml.
func shipped(name string) (string, error) {
	text, err := os.ReadFile(filepath.Join("../../fixtures", name))
	return string(text), err
}

// edited is a text after the edits of a patch, and where the last of them begins.
type edited struct {
	text  string
	from  int
	edits int
}

// apply makes the bad text; an error is a patch that does not fit what ships.
func (p *patch) apply() (*edited, error) {
	e := &edited{}
	if p.Whole != nil {
		e.text, e.edits = *p.Whole, 1
	} else {
		var err error
		if e.text, err = shipped(p.On); err != nil {
			return nil, err
		}
	}
	for _, at := range slices.Sorted(maps.Keys(p.Set)) {
		if err := e.set(at, p.Set[at]); err != nil {
			return nil, err
		}
	}
	for _, at := range slices.Sorted(maps.Keys(p.Rename)) {
		if err := e.rename(at, p.Rename[at]); err != nil {
			return nil, err
		}
	}
	for _, at := range slices.Sorted(maps.Keys(p.Insert)) {
		if err := e.insert(at, p.Insert[at]); err != nil {
			return nil, err
		}
	}
	for _, at := range p.Remove {
		if err := e.remove(at); err != nil {
			return nil, err
		}
	}
	for _, old := range slices.Sorted(maps.Keys(p.Replace)) {
		if err := e.replace(old, p.Replace[old]); err != nil {
			return nil, err
		}
	}
	if p.Append != "" {
		e.change(len(e.text), len(e.text), p.Append)
	}
	if e.edits == 0 {
		return nil, errors.New("edits nothing")
	}
	return e, nil
}

func (e *edited) change(from, to int, text string) {
	e.text = e.text[:from] + text + e.text[to:]
	e.from = from
	e.edits++
}

func (e *edited) set(at, text string) error {
	s, err := siteOf(e.text, at)
	if err != nil {
		return err
	}
	from, to, err := extent(e.text, s.value)
	if err == nil && e.text[from:to] == text {
		err = fmt.Errorf("%s is %s already", at, text)
	}
	e.change(from, to, text)
	return err
}

func (e *edited) rename(at, name string) error {
	s, err := siteOf(e.text, at)
	if err != nil {
		return err
	}
	if s.key == nil {
		return fmt.Errorf("%s is an item, which has no name", at)
	}
	from := offset(e.text, s.key)
	e.change(from, from+len(s.key.Value), name)
	return nil
}

// insert puts lines behind the last one of a key's value.
func (e *edited) insert(at, lines string) error {
	s, err := siteOf(e.text, at)
	if err != nil {
		return err
	}
	_, to, err := extent(e.text, s.value)
	if err != nil || s.key == nil {
		return fmt.Errorf("%s has no end, or is an item: %w", at, err)
	}
	to += strings.IndexByte(e.text[to:], '\n') + 1
	margin := strings.Repeat(" ", s.key.Column-1)
	lines = margin + strings.ReplaceAll(strings.TrimSuffix(lines, "\n"), "\n", "\n"+margin) + "\n"
	e.change(to, to, lines)
	return nil
}

// remove takes the lines of a key and its value.
func (e *edited) remove(at string) error {
	s, err := siteOf(e.text, at)
	if err != nil {
		return err
	}
	_, to, err := extent(e.text, s.value)
	if err != nil || s.key == nil {
		return fmt.Errorf("%s has no end, or is an item: %w", at, err)
	}
	from := offset(e.text, s.key)
	start := from - (s.key.Column - 1)
	if strings.TrimSpace(e.text[start:from]) != "" {
		return fmt.Errorf("%s has no lines of its own; replace its text", at)
	}
	e.change(start, to+strings.IndexByte(e.text[to:], '\n')+1, "")
	return nil
}

func (e *edited) replace(old, text string) error {
	if n := strings.Count(e.text, old); n != 1 {
		return fmt.Errorf("%q stands there %d times", old, n)
	}
	from := strings.Index(e.text, old)
	e.change(from, from+len(old), text)
	return nil
}

// place is the line that a complaint must have; text is that of the blamed file.
func (e *edited) place(c complaint, text string) (int, error) {
	switch {
	case c.At != "":
		s, err := siteOf(text, c.At)
		if err != nil {
			return 0, err
		}
		if s.key == nil {
			return s.value.Line, nil
		}
		return s.key.Line, nil
	case c.Line != "":
		if n := strings.Count(text, c.Line); n != 1 {
			return 0, fmt.Errorf("%q stands %d times in the blamed file", c.Line, n)
		}
		return lineAt(text, strings.Index(text, c.Line)), nil
	case e.edits > 1:
		return 0, errors.New("several edits; say the line of which one")
	}
	return lineAt(e.text, e.from), nil
}

func lineAt(text string, offset int) int { return 1 + strings.Count(text[:offset], "\n") }

// site is where a key, or an item of a list, stands.
type site struct{ key, value *yaml.Node }

func siteOf(text, at string) (site, error) {
	var root yaml.Node
	if err := yaml.Unmarshal([]byte(text), &root); err != nil || len(root.Content) == 0 {
		return site{}, fmt.Errorf("cannot look for %s: %w", at, err)
	}
	sites := map[string]site{}
	note("", site{value: root.Content[0]}, sites)
	s, ok := sites[at]
	if !ok {
		return site{}, fmt.Errorf("there is no %s", at)
	}
	return s, nil
}

// note lists a node and all below it by path.
func note(at string, s site, sites map[string]site) {
	at = public(at)
	sites[at] = s
	switch n := s.value; n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			note(join(at, n.Content[i].Value), site{n.Content[i], n.Content[i+1]}, sites)
		}
	case yaml.SequenceNode:
		for i, item := range n.Content {
			note(fmt.Sprintf("%s[%d]", at, i), site{value: item}, sites)
			if item.Kind == yaml.MappingNode {
				note(fmt.Sprintf("%s[%s]", at, item.Content[1].Value), site{value: item}, sites)
			}
		}
	}
}

// offset of a node's first byte. The files are plain ASCII.
func offset(text string, n *yaml.Node) int {
	at := 0
	for range n.Line - 1 {
		at += strings.IndexByte(text[at:], '\n') + 1
	}
	return at + n.Column - 1
}

// extent of a node: its first byte and the one behind its last.
func extent(text string, n *yaml.Node) (from, to int, err error) {
	from = offset(text, n)
	switch {
	case n.Kind == yaml.ScalarNode && n.Style == 0 && strings.HasPrefix(text[from:], n.Value):
		return from, from + len(n.Value), nil
	case n.Kind == yaml.ScalarNode && n.Style == yaml.DoubleQuotedStyle:
		return from, from + strings.IndexByte(text[from+1:], '"') + 2, nil
	case n.Style&yaml.FlowStyle != 0:
		return from, from + bracketed(text[from:]), nil
	case len(n.Content) > 0:
		_, to, err = extent(text, n.Content[len(n.Content)-1])
		return from, to, err
	}
	return from, from, fmt.Errorf("no end of the value %q", n.Value)
}

// bracketed is the length of the brackets at the beginning of a text.
func bracketed(text string) int {
	depth, quoted := 0, false
	for i, c := range text {
		switch {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '[' || c == '{':
			depth++
		case c == ']' || c == '}':
			if depth--; depth == 0 {
				return i + 1
			}
		}
	}
	return len(text)
}

// lay writes the bad file, and the one that is loaded beside it; it returns the path of
// the latter.
func (p *patch) lay(e *edited, dir string) (string, error) {
	if p.Load != p.On {
		text, err := shipped(p.Load)
		if err != nil {
			return "", err
		}
		if err := os.WriteFile(filepath.Join(dir, path.Base(p.Load)), []byte(text), 0o600); err != nil {
			return "", err
		}
	}
	err := os.WriteFile(filepath.Join(dir, path.Base(p.On)), []byte(e.text), 0o600)
	return filepath.Join(dir, path.Base(p.Load)), err
}
