package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"haltmark/bench/verdict"
)

// tally counts what became of the mutants of one operator.
type tally struct{ mutants, uncompiled, tests, gate, survived int }

func (t *tally) add(r *result) {
	t.mutants++
	switch r.Outcome {
	case notCompiled:
		t.uncompiled++
	case survived:
		t.survived++
	}
	if r.Test != "" {
		t.tests++
	}
	if len(r.Gate) > 0 {
		t.gate++
	}
}

// tried are those that count: whatever does not compile is no defect that could be shipped.
func (t *tally) tried() int { return t.mutants - t.uncompiled }

func (t *tally) row(name string) string {
	return fmt.Sprintf("%-30s %8d %13d %6d %5d %9d", name, t.mutants, t.uncompiled, t.tests, t.gate,
		t.survived)
}

// summing is what all results come to.
type summing struct {
	operators    map[string]*tally
	total        tally
	gated        int            // mutants that a gate tried
	requirements map[string]int // mutants that each caught
	scenarios    map[string]int // mutants that each failed for; what never moves fails none
	survivors    []survivor
}

type survivor struct {
	result
	explained *explanation
}

func (q *qualification) summed(results []result) *summing {
	s := &summing{operators: map[string]*tally{}, requirements: map[string]int{},
		scenarios: map[string]int{}}
	for i := range results {
		r := &results[i]
		if s.operators[r.Operator] == nil {
			s.operators[r.Operator] = &tally{}
		}
		s.operators[r.Operator].add(r)
		s.total.add(r)
		if r.GateTried {
			s.gated++
		}
		for _, id := range r.requirements() {
			s.requirements[id]++
		}
		for _, by := range r.Gate {
			if by.Verdict == verdict.Fail.String() {
				s.scenarios[by.Scenario]++
			}
		}
		if r.Outcome == survived {
			s.survivors = append(s.survivors, survivor{*r, q.explained(r.ID)})
		}
	}
	return s
}

// open tells survivors that nobody has explained, or that are known holes.
func (s *summing) open() bool {
	return slices.ContainsFunc(s.survivors, func(v survivor) bool {
		return v.explained == nil || v.explained.class == hole
	})
}

func (s *summing) print(c *console, h healthy, gate, whole bool) {
	for i := range s.survivors {
		c.say("%s", s.survivors[i].line())
	}
	c.say("%-30s %8s %13s %6s %5s %9s", "operator", "mutants", "not compiled", "tests", "gate",
		"survived")
	for _, name := range slices.Sorted(maps.Keys(s.operators)) {
		c.say("%s", s.operators[name].row(name))
	}
	c.say("%s", s.total.row("all"))
	if gate {
		s.printCaught(c, h, whole)
	}
	c.say("%s", s.share())
}

// line tells of a survivor, and what is known of it.
func (v *survivor) line() string {
	known := "not explained"
	if v.explained != nil {
		known = v.explained.class + ": " + v.explained.why
	}
	return fmt.Sprintf("survived  %s  %s:%d  %s  %s: %s -> %s  (%s)", v.ID, v.File, v.Line,
		v.Function, v.Operator, v.Before, shown(v.After), known)
}

// printCaught prints what the gate saw the mutants by. Of a gate that ended at its first
// catch nobody knows what would have caught nothing.
func (s *summing) printCaught(c *console, h healthy, whole bool) {
	ids := slices.SortedFunc(maps.Keys(s.requirements), func(a, b string) int {
		if d := s.requirements[b] - s.requirements[a]; d != 0 {
			return d
		}
		return strings.Compare(a, b)
	})
	counts := make([]string, len(ids))
	for i, id := range ids {
		counts[i] = fmt.Sprintf("%s %d", id, s.requirements[id])
	}
	c.say("of %d mutants that a gate tried, by requirement: %s", s.gated, listed(counts))
	if !whole {
		c.say("a gate ended at its first catch; --all-requirements tells what catches nothing")
		return
	}
	c.say("requirements that caught none: %s", listed(missing(h.Requirements, s.requirements)))
	idle := missing(h.Scenarios, s.scenarios)
	c.say("scenarios that failed for none: %d of %d", len(idle), len(h.Scenarios))
	for _, name := range idle {
		c.say("  %s", name)
	}
}

func listed(words []string) string {
	if len(words) == 0 {
		return "none"
	}
	return strings.Join(words, ", ")
}

func missing(all []string, found map[string]int) []string {
	return slices.DeleteFunc(slices.Clone(all), func(name string) bool { return found[name] > 0 })
}

// share is the whole in one line.
func (s *summing) share() string {
	count := func(class string) (n int) {
		for _, v := range s.survivors {
			if v.explained != nil && v.explained.class == class {
				n++
			}
		}
		return n
	}
	same, holes := count(equivalent), count(hole)
	if s.total.tried() == 0 {
		return "no mutant that compiles was tried"
	}
	killed := s.total.tried() - s.total.survived
	share := 100.0
	if could := s.total.tried() - same; could > 0 {
		share = 100 * float64(killed) / float64(could)
	}
	return fmt.Sprintf("killed %d of %d mutants that compile, %.1f %% of those that are not "+
		"equivalent; survived: %d equivalent, %d holes, %d not explained", killed, s.total.tried(),
		share, same, holes, len(s.survivors)-same-holes)
}
