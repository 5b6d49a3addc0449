package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"time"

	"haltmark/bench/clock"
	"haltmark/bench/mutant"
)

// trialBench builds mutants and tries them.
type trialBench struct {
	*qualification
	healthy healthy
}

// tryAll tries mutants side by side and tells each result from one goroutine. The first
// error ends it; so does the context, without one.
func (b *trialBench) tryAll(
	ctx context.Context, open []mutant.Mutant, tell func(result) error,
) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	todo, done := make(chan *mutant.Mutant), make(chan error)
	var tellers sync.Mutex
	worker := func() {
		for m := range todo {
			r, err := b.try(ctx, m)
			if err == nil {
				tellers.Lock()
				err = tell(r)
				tellers.Unlock()
			}
			if err != nil {
				cancel()
				done <- err
				return
			}
		}
		done <- nil
	}
	for range b.Jobs {
		go worker()
	}
	feed(ctx, open, todo)
	var first error
	for range b.Jobs {
		if err := <-done; first == nil && !errors.Is(err, context.Canceled) {
			first = err
		}
	}
	return first
}

func feed(ctx context.Context, open []mutant.Mutant, todo chan<- *mutant.Mutant) {
	defer close(todo)
	for i := range open {
		select {
		case todo <- &open[i]:
		case <-ctx.Done():
			return
		}
	}
}

// try tells what notices a mutant: the compiler, the tests of its package, the gate.
func (b *trialBench) try(ctx context.Context, m *mutant.Mutant) (result, error) {
	began := now()
	r := result{ID: m.ID, Key: b.key, File: m.File, Line: m.Line, Function: m.Function,
		Operator: m.Operator, Before: m.Before, After: m.After, Outcome: survived}
	dir, err := os.MkdirTemp("", "haltmark-qualify-")
	if err != nil {
		return r, err
	}
	overlay, err := writeOverlay(dir, m)
	if err == nil {
		err = b.judge(ctx, dir, overlay, &r)
	}
	r.Seconds = now().Sub(began).Seconds()
	return r, errors.Join(err, os.RemoveAll(dir))
}

func (b *trialBench) judge(ctx context.Context, dir, overlay string, r *result) error {
	compiled, _, err := finish(ctx, buildLimit, "go", "build", "-overlay", overlay,
		"./"+b.subject.dir)
	if err != nil {
		return err
	}
	if compiled != 0 {
		r.Outcome = notCompiled
		return nil
	}
	if r.Test, err = b.test(ctx, overlay); err != nil {
		return err
	}
	if r.Test != "" {
		r.Outcome = killedByTests
	}
	if !b.subject.gate || r.Test != "" && !b.AllRequirements {
		return nil
	}
	r.GateTried = true
	if r.Gate, err = b.gate(ctx, dir, overlay); err != nil {
		return err
	}
	if r.Outcome == survived && len(r.Gate) > 0 {
		r.Outcome = killedByGate
	}
	return nil
}

// test runs the subject's suites until one fails, and returns what failed.
func (b *trialBench) test(ctx context.Context, overlay string) (string, error) {
	for i, s := range b.subject.tests {
		limit := b.healthy.deadline(b.healthy.Suites[i])
		code, said, err := finish(ctx, limit, "go", s.arguments(overlay, limit/2)...)
		if err != nil || code != 0 {
			return failedTest(code, said), err
		}
	}
	return "", nil
}

func (s suite) arguments(overlay string, timeout time.Duration) []string {
	args := []string{"test", "-failfast", "-count=1", "-vet=off",
		"-timeout=" + timeout.String()}
	if overlay != "" {
		args = append(args, "-overlay", overlay)
	}
	if s.run != "" {
		args = append(args, "-run", s.run)
	}
	return append(args, "./"+s.dir)
}

var failLine = regexp.MustCompile(`(?m)^\s*--- FAIL: (\S+)`)

// failedTest names what failed in the words of go test.
func failedTest(code int, said string) string {
	switch found := failLine.FindStringSubmatch(said); {
	case code == killed || strings.Contains(said, "panic: test timed out"):
		return byDeadline
	case found != nil:
		return found[1]
	case strings.Contains(said, "[build failed]"):
		return "the build of the tests"
	}
	return "a test that ended the process"
}

// buildLimit bounds a compiler that a mutant confuses, on a machine that compiles anew.
const buildLimit = 10 * time.Minute

// killed is the exit code of a process that its deadline ended.
const killed = -1

// finish runs a program until its deadline and returns its exit code and what it said.
func finish(
	ctx context.Context, deadline time.Duration, name string, args ...string,
) (int, string, error) {
	var said bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdout, cmd.Stderr = &said, &said
	code, err := runUntil(ctx, deadline, cmd, nil)
	return code, said.String(), err
}

// runUntil starts a process, ends it at its deadline and returns its exit code. Watch, if
// any, is called once it has started.
func runUntil(
	ctx context.Context, deadline time.Duration, cmd *exec.Cmd, watch func(),
) (int, error) {
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	ownGroup(cmd)
	if err := cmd.Start(); err != nil {
		return 0, err
	}
	limitMemory(cmd.Process.Pid)
	over := make(chan struct{})
	late := make(chan bool, 1)
	wall := clock.NewWall()
	go func() {
		came := wall.Pause(wall.Now()+deadline, over)
		if came {
			endGroup(cmd)
		}
		late <- came
	}()
	stop := context.AfterFunc(ctx, func() { endGroup(cmd) })
	if watch != nil {
		watch()
	}
	err := cmd.Wait()
	stop()
	close(over)
	wasLate := <-late
	var exit *exec.ExitError
	switch {
	case ctx.Err() != nil:
		return 0, ctx.Err()
	case wasLate:
		return killed, nil
	case errors.As(err, &exit):
		return exit.ExitCode(), nil
	}
	return 0, err
}

// build makes the whole program with a mutant in it, or without one.
func build(ctx context.Context, program, overlay string) error {
	args := []string{"build", "-o", program}
	if overlay != "" {
		args = append(args, "-overlay", overlay)
	}
	code, said, err := finish(ctx, buildLimit, "go", append(args, "./cmd/haltmark")...)
	if err == nil && code != 0 {
		err = fmt.Errorf("qualify: go build ended with %d: %s", code, said)
	}
	return err
}

func programIn(dir string) string { return filepath.Join(dir, "haltmark-mutant") }
