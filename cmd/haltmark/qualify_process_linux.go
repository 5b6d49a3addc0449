package main

import (
	"os/exec"
	"syscall"

	"golang.org/x/sys/unix"
)

// memoryLimit bounds the address space of a mutant and of the compiler: a loop that a
// mutant lets run on would take the machine's memory before its deadline.
const memoryLimit = 12 << 30

// limitMemory bounds a process and those that it starts.
func limitMemory(pid int) {
	limit := unix.Rlimit{Cur: memoryLimit, Max: memoryLimit}
	_ = unix.Prlimit(pid, unix.RLIMIT_AS, &limit, nil) // one that has ended needs none
}

// ownGroup lets a process be ended with all that it starts: go test starts the tests.
func ownGroup(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

func endGroup(cmd *exec.Cmd) { _ = syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
