// Package standin is the embedded controller: an honest one in small, so that
// the bench has something to drive before a real controller is connected. A
// verdict about it says nothing of any other controller.
//
// It knows the station by wire alone: it polls encoders, drives and the
// interlock unit over the network once a control cycle, and it is commanded and
// observed through its SNMP agent. The same code runs as coroutines of the
// virtual clock, as goroutines, and as a process of its own.
//
// Reading order: settings, motion (the reference), axis (start, run and stop of
// one axis), loop (its position loop), supervise (which cause asks for which
// stop), wire (the exchanges of a cycle), command, agent, controller. Seeded
// defects stand in defect.go and are off by default.
package standin
