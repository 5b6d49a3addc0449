package config

import (
	"fmt"
	"reflect"
	"strings"

	"haltmark/bench/nearest"
)

// sectionKeys lists the keys of every struct type below root.
func sectionKeys(t reflect.Type, keys map[string][]string) {
	for t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct || keys[t.Name()] != nil || wrapper(t) {
		return
	}
	keys[t.Name()] = []string{}
	for i := range t.NumField() {
		field := t.Field(i)
		sectionKeys(field.Type, keys)
		if key := keyOf(field); key != "" {
			keys[t.Name()] = append(keys[t.Name()], key)
		} else if field.Anonymous {
			keys[t.Name()] = append(keys[t.Name()], keys[field.Type.Name()]...)
		}
	}
}

// keyOf is the YAML key of a struct's field.
func keyOf(field reflect.StructField) string {
	key, _, _ := strings.Cut(field.Tag.Get("yaml"), ",")
	return key
}

// suggest names the key that was probably meant, or all there are.
func suggest(given string, keys []string) string {
	if best := nearest.Name(given, keys, 3); best != "" {
		return "did you mean " + best + "?"
	}
	return "use one of " + strings.Join(keys, ", ")
}

// optional tells a key that may be left out.
func optional(field reflect.StructField) bool {
	_, options, _ := strings.Cut(field.Tag.Get("yaml"), ",")
	return options == "omitempty"
}

// visit calls do for every wrapper below a struct of sections, with the path of
// its key and its field.
func visit(section any, do func(at string, field reflect.StructField, l leaf)) {
	walk(reflect.ValueOf(section).Elem(), "", do)
}

func walk(v reflect.Value, at string, do func(string, reflect.StructField, leaf)) {
	for i := range v.NumField() {
		field := v.Type().Field(i)
		inside := at
		if key := keyOf(field); key != "" {
			inside = join(at, key)
		}
		if field.Anonymous { // its fields stand in this section
			walk(v.Field(i), at, do)
			continue
		}
		switch l, ok := v.Field(i).Addr().Interface().(leaf); {
		case ok:
			do(inside, field, l)
		case field.Type.Kind() == reflect.Struct:
			walk(v.Field(i), inside, do)
		case field.Type.Kind() == reflect.Pointer && !v.Field(i).IsNil():
			walk(v.Field(i).Elem(), inside, do)
		case field.Type.Kind() == reflect.Slice:
			for k := range v.Field(i).Len() {
				walk(v.Field(i).Index(k), fmt.Sprintf("%s[%d]", inside, k), do)
			}
		}
	}
}

// requireAll reports the keys that are not there.
func (d *document) requireAll(section any, r *report) {
	visit(section, func(at string, field reflect.StructField, l leaf) {
		if !l.given() && !optional(field) {
			r.add(d.file, d.line(at), "%s is missing; nothing is assumed for it; add the key %s",
				public(at), keyOf(field))
		}
	})
}

// public is the path of a parameter as requirements and people name it: that of
// its key, axes by their own names.
func public(at string) string { return strings.TrimPrefix(at, "axes.") }
