package config

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Problem is one thing wrong in a file: what, why, and what to do about it.
type Problem struct {
	File string
	Line int // 0 where it is the whole file
	Text string
}

func (p Problem) Error() string {
	if p.Line == 0 {
		return p.File + ": " + p.Text
	}
	return fmt.Sprintf("%s:%d: %s", p.File, p.Line, p.Text)
}

// Problems is all that is wrong, one line each, in order of file and line. It is
// the error that every Load returns for what a person wrote.
type Problems []Problem

func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, problem := range p {
		lines[i] = problem.Error()
	}
	return strings.Join(lines, "\n")
}

// report gathers problems while a file is read.
type report struct{ found Problems }

func (r *report) add(f *file, line int, format string, args ...any) {
	r.found = append(r.found, Problem{f.name, line, fmt.Sprintf(format, args...)})
}

// take gathers what another load found.
func (r *report) take(err error) {
	var found Problems
	if errors.As(err, &found) {
		r.found = append(r.found, found...)
	} else if err != nil {
		r.found = append(r.found, Problem{Text: err.Error()})
	}
}

// err is nil when nothing was found.
func (r *report) err() error {
	if len(r.found) == 0 {
		return nil
	}
	slices.SortStableFunc(r.found, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line))
	})
	// A sheet or map that several seats name is read for each of them.
	return slices.Compact(r.found)
}
