package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"time"

	"haltmark/bench/config"
	"haltmark/bench/verdict"
)

// gate builds the program with the mutant and returns the scenarios that did not pass: the
// first, or all. The cheapest scenarios are tried first.
func (b *trialBench) gate(ctx context.Context, dir, overlay string) ([]catch, error) {
	program := programIn(dir)
	if err := build(ctx, program, overlay); err != nil {
		return nil, err
	}
	if !b.AllRequirements {
		caught, err := b.gateOnce(ctx, program, "--tags", "@smoke", "--phases", "1")
		if err != nil || caught != nil {
			return caught, err
		}
	}
	return b.gateOnce(ctx, program, "--phases", fmt.Sprint(b.Phases))
}

// gateOnce runs one gate. A scenario that does not pass ends it, as a user would by a
// signal, unless all requirements are asked for.
func (b *trialBench) gateOnce(
	ctx context.Context, program string, flags ...string,
) ([]catch, error) {
	out, err := os.MkdirTemp(filepath.Dir(program), "runs-")
	if err != nil {
		return nil, err
	}
	cmd := exec.Command(program, append([]string{"gate", "--station", b.Station,
		"--corners", "none", "--jobs", "1", "--out", out}, flags...)...)
	said, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	first := ""
	code, err := runUntil(ctx, b.healthy.deadline(b.healthy.Gate), cmd, func() {
		first = firstFailed(said, func() {
			if !b.AllRequirements {
				_ = cmd.Process.Signal(os.Interrupt) // one that has ended needs none
			}
		})
	})
	if err != nil || code == verdict.ExitPass {
		return nil, err
	}
	s, err := readSummary(out)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	if caught := s.caught(); len(caught) > 0 {
		return caught, nil
	}
	return []catch{{Scenario: endedBy(code, first)}}, nil
}

// endedBy is told where a gate left no verdict of a scenario.
func endedBy(code int, first string) string {
	switch {
	case first != "":
		return first
	case code == killed:
		return byDeadline
	case code == verdict.ExitBadInput:
		return "refused as bad input"
	}
	return fmt.Sprintf("ended with exit code %d", code)
}

var ranLine = regexp.MustCompile(`^ *\d+/\d+  (.+?)  +(\S+:\d+)  (.*)$`)

// firstFailed reads a gate's progress to its end and returns the first scenario that did
// not pass, of which it tells at once.
func firstFailed(said io.Reader, tell func()) string {
	first := ""
	lines := bufio.NewScanner(said)
	for lines.Scan() {
		ran := ranLine.FindStringSubmatch(lines.Text())
		if ran != nil && ran[1] != verdict.Pass.String() && first == "" {
			first = ran[2] + " " + ran[3]
			tell()
		}
	}
	_, _ = io.Copy(io.Discard, said) // a line too long for the scanner blocks nobody
	return first
}

// summary is what is read of a run's summary.json.
type summary struct {
	Requirements []struct {
		ID string `json:"id"`
	} `json:"requirements"`
	Scenarios []scenarioSummary `json:"scenarios"`
}

type scenarioSummary struct {
	Name         string        `json:"name"`
	Path         string        `json:"path"`
	Line         int           `json:"line"`
	Verdict      string        `json:"verdict"`
	Measurements []outcomeLine `json:"measurements"`
	Watches      []outcomeLine `json:"watches"`
}

type outcomeLine struct {
	Requirement string `json:"requirement"`
	Verdict     string `json:"verdict"`
}

func (s *scenarioSummary) title() string { return fmt.Sprintf("%s:%d %s", s.Path, s.Line, s.Name) }

func readSummary(out string) (summary, error) {
	var s summary
	text, err := config.ReadFile(filepath.Join(out, "latest", "summary.json"), config.JSONLimit)
	if err == nil {
		err = json.Unmarshal(text, &s)
	}
	return s, err
}

// caught are the scenarios that did not pass, each with the requirements that made it so.
func (s *summary) caught() []catch {
	var found []catch
	for i := range s.Scenarios {
		one := &s.Scenarios[i]
		if one.Verdict == verdict.Pass.String() {
			continue
		}
		by := catch{Scenario: one.title(), Verdict: one.Verdict}
		for _, o := range append(one.Measurements, one.Watches...) {
			if o.Verdict == one.Verdict {
				by.Requirements = append(by.Requirements, o.Requirement)
			}
		}
		found = append(found, by)
	}
	return found
}

// healthy is how the bench does without a mutant.
type healthy struct {
	Key          string          `json:"key"`
	Suites       []time.Duration `json:"suites_ns"`
	Gate         time.Duration   `json:"gate_ns"`
	Requirements []string        `json:"requirements"`
	Scenarios    []string        `json:"scenarios"`
}

const (
	// A mutant may take so many times what the bench takes without one, and some time more,
	// which compiling or a busy machine takes.
	patience     = 10
	patienceLeft = 30 * time.Second
	// healthyLimit bounds a bench that never ends as it is.
	healthyLimit = 30 * time.Minute
)

func (h *healthy) deadline(took time.Duration) time.Duration { return patience*took + patienceLeft }

// healthyBench tries the tree without a mutant, unless that was done under the same key. A
// bench that does not pass as it is can tell nothing of mutants.
func (q *qualification) healthyBench(
	ctx context.Context, c *console, b *trialBench,
) (healthy, error) {
	name := filepath.Join(q.Out, "healthy.json")
	var h healthy
	if text, err := config.ReadFile(name, config.JSONLimit); err == nil &&
		json.Unmarshal(text, &h) == nil && h.Key == q.key {
		return h, nil
	}
	c.say("trying the bench without a mutant")
	h = healthy{Key: q.key}
	for _, s := range q.subject.tests {
		began := now()
		code, said, err := finish(ctx, healthyLimit, "go", s.arguments("", healthyLimit)...)
		if err != nil {
			return h, err
		}
		if code != 0 {
			return h, fmt.Errorf("qualify: without a mutant %s fails:\n%s", s.dir, said)
		}
		h.Suites = append(h.Suites, now().Sub(began))
	}
	if q.subject.gate {
		if err := h.tryGate(ctx, b); err != nil {
			return h, err
		}
	}
	text, err := json.MarshalIndent(h, "", "  ")
	if err == nil {
		err = os.WriteFile(name, append(text, '\n'), 0o644)
	}
	return h, err
}

func (h *healthy) tryGate(ctx context.Context, b *trialBench) error {
	dir, err := os.MkdirTemp("", "haltmark-qualify-")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	if err := build(ctx, programIn(dir), ""); err != nil {
		return err
	}
	began := now()
	code, said, err := finish(ctx, healthyLimit, programIn(dir), "gate", "--station", b.Station,
		"--corners", "none", "--jobs", "1", "--phases", fmt.Sprint(b.Phases), "--out", dir)
	if err != nil {
		return err
	}
	if code != verdict.ExitPass {
		return fmt.Errorf("qualify: without a mutant the gate ends with exit code %d:\n%s", code, said)
	}
	h.Gate = now().Sub(began)
	s, err := readSummary(dir)
	for _, r := range s.Requirements {
		h.Requirements = append(h.Requirements, r.ID)
	}
	for i := range s.Scenarios {
		h.Scenarios = append(h.Scenarios, s.Scenarios[i].title())
	}
	return err
}
