package config

import (
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
)

// Kind is what a file is about.
type Kind string

// The kinds of files, which are the folders of the embedded ones.
const (
	KindStation     Kind = kindStation
	KindSheet       Kind = kindSheet
	KindMap         Kind = kindMap
	KindController  Kind = kindController
	KindRequirement Kind = kindRequirement
	KindRegister    Kind = registerName
	KindWaiver      Kind = "waivers"
)

// Kinds lists those that have embedded files.
func Kinds() []Kind {
	return []Kind{KindStation, KindSheet, KindMap, KindController, KindRequirement}
}

// KindOf tells from the keys of a file what it is about.
func KindOf(path string) (Kind, error) {
	f, err := openPath(path)
	if err != nil {
		return "", err
	}
	var root yaml.Node
	if err := yaml.Unmarshal(WithoutMark(f.text), &root); err != nil {
		r := &report{}
		(&document{file: f}).syntax(err, r)
		return "", r.err()
	}
	telling := map[string]Kind{"station": KindStation, "sheet": KindSheet, "map": KindMap,
		"controller": KindController, "requirements": KindRequirement, "hazards": KindRegister,
		"duties": KindRequirement, "waivers": KindWaiver}
	if len(root.Content) > 0 && root.Content[0].Kind == yaml.MappingNode {
		keys := root.Content[0].Content
		for i := 0; i < len(keys); i += 2 {
			// A station has a section named controller; its name comes first.
			if kind, ok := telling[keys[i].Value]; ok {
				return kind, nil
			}
		}
	}
	return "", Problems{{f.name, 1, "is no fixture; its first key tells what it is about; need " +
		"station, sheet, map, controller, requirements, duties, hazards or waivers"}}
}

// EmbeddedKind finds the kind of an embedded file by its bare name; "" when there
// is none.
func EmbeddedKind(name string) Kind {
	switch strings.TrimSuffix(name, extension) {
	case registerName:
		return KindRegister
	case CauseTable:
		return KindRequirement
	}
	for _, kind := range Kinds() {
		if slices.Contains(Embedded(string(kind)), strings.TrimSuffix(name, extension)) {
			return kind
		}
	}
	return ""
}
