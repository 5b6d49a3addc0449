package controller

import (
	"errors"
	"os"
	"testing"
)

func TestEmbedded_StartStopRestart(t *testing.T) {
	runs := 0
	var c Controller = &Embedded{Launch: func() (func(), error) {
		runs++
		return func() { runs-- }, nil
	}}
	for range 2 {
		if err := c.Start(); err != nil || runs != 1 {
			t.Fatalf("%d run, %v", runs, err)
		}
		if err := c.Start(); err == nil {
			t.Error("started twice")
		}
		if err := errors.Join(c.Stop(), c.Stop()); err != nil || runs != 0 {
			t.Fatalf("%d run, %v", runs, err)
		}
	}
	if err := (External{}).Stop(); !errors.Is(err, ErrNotOurs) {
		t.Errorf("external: %v", err)
	}
}

// The test's own executable, told to wait, takes the part of a controller's.
func TestProgram_StartStopRestart(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	p := &Program{Args: []string{self, "-test.run", "TestProgram_Waits"},
		Env: append(os.Environ(), "HALTMARK_TEST_PROGRAM=1")}
	for range 2 {
		if err := p.Start(); err != nil {
			t.Fatal(err)
		}
		if err := p.Start(); err == nil {
			t.Error("started twice")
		}
		if err := p.Stop(); err != nil {
			t.Errorf("stop: %v", err)
		}
	}
	if err := (&Program{Args: []string{"/nonexistent/controller"}}).Start(); err == nil {
		t.Error("started what is not there")
	}
}

// TestProgram_Waits is the program of the test above: it waits to be killed.
func TestProgram_Waits(t *testing.T) {
	if os.Getenv("HALTMARK_TEST_PROGRAM") != "1" {
		t.Skip("only as the program of another test")
	}
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer func() { t.Log(write.Close()) }()
	_, err = read.Read(make([]byte, 1))
	t.Log(err)
}
