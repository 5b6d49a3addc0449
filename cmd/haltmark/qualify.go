package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"haltmark/bench/campaign"
	"haltmark/bench/mutant"
	"haltmark/bench/seed"
	"haltmark/bench/verdict"
)

// qualifyCommand measures how blind the bench is: it changes one part of it mechanically,
// one place at a time, and tells which changes nothing notices.
type qualifyCommand struct {
	Of              string `required:"" enum:"${subjects}" help:"Part to change: ${enum}."`
	Sample          int    `help:"Try only so many mutants, drawn by the seed; all by default."`
	Seed            string `default:"1" help:"Seed of the sample."`
	Jobs            int    `default:"1" help:"Mutants at once."`
	Station         string `default:"demo" help:"Station of the gate."`
	Phases          int    `default:"2" help:"Phases of the gate."`
	Out             string `default:"runs/qualify" help:"Folder of results.jsonl and matrix.tsv."`
	Only            string `help:"Only the mutants whose id begins so."`
	AllRequirements bool   `help:"Run every gate to its end and note every requirement that failed."`
	List            bool   `help:"List the mutants and try none; with --only the changed lines too."`
}

// survivorsFile explains survivors, one a line.
const survivorsFile = "testdata/survivors.tsv"

// qualification is what the flags say, read and checked.
type qualification struct {
	*qualifyCommand
	subject  subject
	all      []mutant.Mutant // of the subject
	chosen   []mutant.Mutant
	explains []explanation
	key      string // of everything that decides a result
}

// Run implements the subcommand.
func (q *qualifyCommand) Run(c *console) error {
	chosen, err := q.choose()
	if err != nil {
		return err
	}
	if q.List {
		chosen.list(c)
		return nil
	}
	return chosen.conduct(c)
}

// choose reads flags, sources and explanations. Everything wrong with them comes back at
// once, as a BadInput.
func (q *qualifyCommand) choose() (*qualification, error) {
	var bad campaign.BadInput
	note := func(flag string, err error) {
		if err != nil {
			bad = append(bad, flag+err.Error())
		}
	}
	ch := &qualification{qualifyCommand: q, subject: subjects[q.Of]}
	note("qualify: ", inTree())
	_, err := seed.Parse(q.Seed)
	note("--seed: ", err)
	if q.Phases < 1 || q.Phases > maxPhases {
		note("", fmt.Errorf("--phases %d: need 1 to %d", q.Phases, maxPhases))
	}
	if q.Jobs < 1 || q.Sample < 0 {
		note("", fmt.Errorf("--jobs %d --sample %d: need 1 or more jobs, and no negative sample",
			q.Jobs, q.Sample))
	}
	if bad != nil {
		return nil, bad
	}
	if ch.all, err = readMutants(ch.subject.dir); err != nil {
		return nil, err
	}
	ch.chosen = mutant.Sample(ch.all, q.Sample, q.Seed)
	if q.Only != "" {
		ch.chosen = slices.DeleteFunc(slices.Clone(ch.all), func(m mutant.Mutant) bool {
			return !strings.HasPrefix(m.ID, q.Only)
		})
	}
	if len(ch.chosen) == 0 {
		note("", fmt.Errorf("--only %s: no mutant of %s has such an id", q.Only, q.Of))
	}
	ch.explains, err = readExplanations(survivorsFile)
	note("", err)
	note("", checkOut(q.Out))
	if bad != nil {
		return nil, bad
	}
	ch.key, err = treeKey(q.Of, q.Station, fmt.Sprint(q.Phases), fmt.Sprint(q.AllRequirements))
	return ch, err
}

// list prints mutants, and the changed lines of those that were asked for by id.
func (q *qualification) list(c *console) {
	for i := range q.chosen {
		m := &q.chosen[i]
		c.say("%s  %s", m.ID, described(m))
		if before, after := m.Lines(); q.Only != "" {
			c.say("- %s\n+ %s", spaced(before), spaced(after))
		}
	}
}

// spaced has blanks for tabs, which a console would spell out.
func spaced(text string) string { return strings.ReplaceAll(text, "\t", "    ") }

// described is a mutant in one line.
func described(m *mutant.Mutant) string {
	return fmt.Sprintf("%s:%d  %s  %s: %s -> %s", m.File, m.Line, m.Function, m.Operator, m.Before,
		shown(m.After))
}

func shown(after string) string {
	if after == "" {
		return "nothing"
	}
	return after
}

// conduct tries every chosen mutant that no earlier run has tried under the same key.
func (q *qualification) conduct(c *console) (err error) {
	ctx, cancel := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer cancel()
	known, file, err := openResults(q.Out, q.key)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	open := slices.DeleteFunc(slices.Clone(q.chosen), func(m mutant.Mutant) bool {
		_, done := known[m.ID]
		return done
	})
	bench := &trialBench{qualification: q}
	bench.healthy, err = q.healthyBench(ctx, c, bench)
	if errors.Is(err, context.Canceled) {
		c.say("%s", stoppedLine)
		return ended(verdict.ExitBenchFailed)
	} else if err != nil {
		return err
	}
	tried := len(q.chosen) - len(open)
	if tried > 0 {
		c.say("%d of %d mutants were tried before on these sources", tried, len(q.chosen))
	}
	err = bench.tryAll(ctx, open, func(r result) error {
		known[r.ID] = r
		tried++
		c.say("%3d/%d  %s", tried, len(q.chosen), r.line())
		return appendResult(file, r)
	})
	if err != nil {
		return err
	}
	return q.closing(c, known, bench.healthy, ctx.Err() != nil)
}

// closing prints what came out, writes the matrix and ends with the code.
func (q *qualification) closing(
	c *console, known map[string]result, healthy healthy, stopped bool,
) error {
	var results []result
	for _, m := range q.chosen {
		if r, ok := known[m.ID]; ok {
			results = append(results, r)
		}
	}
	if err := writeMatrix(q.Out, results, healthy.Requirements); err != nil {
		return err
	}
	for _, line := range q.staleExplanations(results) {
		c.say("%s", line)
	}
	sum := q.summed(results)
	if err := writeUnexplained(q.Out, sum.survivors); err != nil {
		return err
	}
	sum.print(c, healthy, q.subject.gate, q.AllRequirements)
	if stopped {
		c.say("%s", stoppedLine)
		return ended(verdict.ExitBenchFailed)
	}
	if sum.open() {
		return ended(verdict.ExitFail)
	}
	return nil
}
