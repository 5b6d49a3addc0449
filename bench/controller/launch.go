package controller

import (
	"errors"
	"fmt"
	"io"
	"os/exec"
)

// Controller is something that can be started, and ended at once as by pulling
// its plug. Starting again after Stop is a restart. Both are called from outside.
type Controller interface {
	Start() error
	Stop() error
}

// ErrNotOurs says that the bench does not start or stop this controller.
var ErrNotOurs = errors.New("controller: launched externally; the bench cannot restart it")

// External is a controller that somebody else runs.
type External struct{}

// Start trusts that it runs.
func (External) Start() error { return nil }

// Stop refuses.
func (External) Stop() error { return ErrNotOurs }

// Embedded is a controller in the bench's own world, such as the stand-in.
type Embedded struct {
	// Launch starts it and returns what ends it.
	Launch func() (stop func(), err error)
	stop   func()
}

// Start launches it; an error when it runs already.
func (e *Embedded) Start() (err error) {
	if e.stop != nil {
		return errors.New("controller: started twice")
	}
	e.stop, err = e.Launch()
	return err
}

// Stop ends it; nothing happens when it does not run.
func (e *Embedded) Stop() error {
	if e.stop != nil {
		e.stop()
		e.stop = nil
	}
	return nil
}

// Program is a controller that the bench runs as a command.
type Program struct {
	Args   []string // program and arguments
	Env    []string // added to nothing: the whole environment; nil inherits
	Output io.Writer
	cmd    *exec.Cmd
}

// Start runs the command and does not wait for it.
func (p *Program) Start() error {
	if p.cmd != nil {
		return errors.New("controller: started twice")
	}
	if len(p.Args) == 0 {
		return errors.New("controller: no command to run")
	}
	cmd := exec.Command(p.Args[0], p.Args[1:]...)
	cmd.Env, cmd.Stdout, cmd.Stderr = p.Env, p.Output, p.Output
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("controller: %w", err)
	}
	p.cmd = cmd
	return nil
}

// Stop kills the command and waits for its end. It fails when the command had
// ended by itself.
func (p *Program) Stop() error {
	if p.cmd == nil {
		return nil
	}
	cmd := p.cmd
	p.cmd = nil
	killed := cmd.Process.Kill()
	// Its exit status is that of being killed, which was asked for.
	_ = cmd.Wait()
	if killed != nil {
		return fmt.Errorf("controller: %s had ended by itself: %w", p.Args[0], killed)
	}
	return nil
}
