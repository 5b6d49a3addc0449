// Package clock owns time for everything that runs in the bench.
//
// Instants are time.Duration since the start of the world. Processes (control
// loops, management pollers) are written once against Process and run in two
// worlds: Virtual, a deterministic discrete-event kernel in which a process is
// a coroutine and waiting costs nothing, and Wall, in which a process is a
// goroutine woken by absolute clock_nanosleep. In both, the processes of one
// Group never run at the same time and change places only inside SleepUntil,
// Wait, or a read that uses Wait; so code of one controller has one thread.
//
// Events (At) and Do run while every process is held still. Wall records how
// late it woke (Lateness); Virtual is never late.
//
// Do not run a Virtual kernel on a locked operating-system thread: coroutine
// switches then cost microseconds instead of nanoseconds.
package clock
