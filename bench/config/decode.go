package config

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// document is a parsed file: where its keys stand and what they hold.
type document struct {
	*file
	lines map[string]int    // path of a key to its line
	paths map[[2]int]string // line and column of a value to its path
}

// decode reads the one YAML document of a file into out, a pointer to a struct
// of the wrapper types, and reports all that is wrong with its form.
func decode(f *file, out any, r *report) *document {
	d := &document{file: f, lines: map[string]int{}, paths: map[[2]int]string{}}
	text := WithoutMark(f.text)
	var root yaml.Node
	if err := yaml.Unmarshal(text, &root); err != nil {
		d.syntax(err, r)
		return d
	}
	if wide := beyond(&root, depthLimit); wide != nil {
		r.add(f, wide.Line, "is %s of more than %d, or lies in more than %d others; no fixture "+
			"has that; start from an embedded one",
			shapeOf(strings.TrimPrefix(wide.ShortTag(), "!!")), keyLimit, depthLimit)
		return d
	}
	if len(root.Content) == 0 || root.Content[0].Kind != yaml.MappingNode {
		r.add(f, 1, "holds no keys at its top; a file of %s begins with keys; start from one that ships",
			sectionName(reflect.TypeOf(out).Elem().Name()))
		return d
	}
	d.index("", root.Content[0])
	decoder := yaml.NewDecoder(bytes.NewReader(text))
	decoder.KnownFields(true)
	err := decoder.Decode(out)
	d.translate(err, reflect.TypeOf(out).Elem(), r)
	var second yaml.Node
	if decoder.Decode(&second) != io.EOF {
		r.add(f, max(second.Line, 1), "a second document begins; a file holds one; remove it")
	}
	if err == nil {
		d.requireAll(out, r)
	}
	return d
}

// What a section holds at most, and how deep sections lie in each other: the decoder
// compares each key with every other.
const (
	keyLimit   = 1000
	depthLimit = 20
)

// beyond is the first node that exceeds the limits; nil when all keep them.
func beyond(n *yaml.Node, depth int) *yaml.Node {
	if depth == 0 || n.Kind == yaml.MappingNode && len(n.Content) > 2*keyLimit {
		return n
	}
	for _, inner := range n.Content {
		if found := beyond(inner, depth-1); found != nil {
			return found
		}
	}
	return nil
}

// index notes where each key and each value stands.
func (d *document) index(at string, n *yaml.Node) {
	d.paths[[2]int{n.Line, n.Column}] = at
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			key := join(at, n.Content[i].Value)
			d.lines[key] = n.Content[i].Line
			d.index(key, n.Content[i+1])
		}
	case yaml.SequenceNode:
		for i, item := range n.Content {
			key := fmt.Sprintf("%s[%d]", at, i)
			d.lines[key] = item.Line
			d.index(key, item)
		}
	}
}

func join(at, key string) string {
	if at == "" {
		return key
	}
	return at + "." + key
}

// line of a key, or of the nearest key around it that is there.
func (d *document) line(at string) int {
	for at != "" {
		if line, ok := d.lines[at]; ok {
			return line
		}
		cut := max(strings.LastIndexByte(at, '.'), strings.LastIndexByte(at, '['), 0)
		at = at[:cut]
	}
	return 1
}

// What the decoder's own messages look like.
var (
	lineMessage      = regexp.MustCompile(`^(?:yaml: )?line (\d+): (.*)$`)
	unknownMessage   = regexp.MustCompile(`^field (.+) not found in type config\.(\w+)`)
	duplicateMessage = regexp.MustCompile(`^mapping key "(.+)" already defined at line (\d+)$`)
	shapeMessage     = regexp.MustCompile("^cannot unmarshal !!(\\w+)(?: `.*`)? into (.+)$")
	ownMessage       = regexp.MustCompile(`^column (\d+): (.*)$`)
)

func (d *document) syntax(err error, r *report) {
	line, text := 1, strings.TrimPrefix(err.Error(), "yaml: ")
	if m := lineMessage.FindStringSubmatch(err.Error()); m != nil {
		line, _ = strconv.Atoi(m[1])
		text = m[2]
	}
	r.add(d.file, line, "is not YAML; %s; mend the form of the file near this line", text)
}

// translate turns the decoder's messages into the house's.
func (d *document) translate(err error, root reflect.Type, r *report) {
	var many *yaml.TypeError
	if err == nil {
		return
	}
	if !errors.As(err, &many) {
		d.syntax(err, r)
		return
	}
	keys := map[string][]string{}
	sectionKeys(root, keys)
	for _, message := range many.Errors {
		m := lineMessage.FindStringSubmatch(message)
		if m == nil {
			r.add(d.file, 1, "%s", message)
			continue
		}
		line, _ := strconv.Atoi(m[1])
		r.add(d.file, line, "%s", d.wording(line, m[2], keys))
	}
}

// wording of one message that stands at a line.
func (d *document) wording(line int, text string, keys map[string][]string) string {
	if m := ownMessage.FindStringSubmatch(text); m != nil {
		column, _ := strconv.Atoi(m[1])
		return strings.TrimSpace(public(d.paths[[2]int{line, column}]) + " " + m[2])
	}
	if m := unknownMessage.FindStringSubmatch(text); m != nil {
		return fmt.Sprintf("unknown key %q; section %s has none of that name; %s",
			m[1], sectionName(m[2]), suggest(m[1], keys[m[2]]))
	}
	if m := duplicateMessage.FindStringSubmatch(text); m != nil {
		return fmt.Sprintf("key %q stands twice; it is already at line %s; remove one", m[1], m[2])
	}
	if m := shapeMessage.FindStringSubmatch(text); m != nil {
		section := sectionName(m[2][strings.LastIndexByte(m[2], '.')+1:])
		return fmt.Sprintf("is %s; section %s is keys and values; give what an embedded file has here",
			shapeOf(m[1]), section)
	}
	return text
}

func shapeOf(tag string) string {
	switch tag {
	case "seq":
		return "a list"
	case "map":
		return "a set of keys"
	}
	return "a single value"
}

// sectionName makes "drive seat" of driveSeatSection and the like.
func sectionName(typeName string) string {
	var words strings.Builder
	for i, r := range strings.TrimSuffix(strings.TrimSuffix(typeName, "Section"), "File") {
		if i > 0 && r >= 'A' && r <= 'Z' {
			words.WriteByte(' ')
		}
		words.WriteRune(r)
	}
	return strings.ToLower(words.String())
}
