// Package standin is the embedded controller: a sound one in small, so that
// the bench has something to drive before a real controller is connected. A
// verdict about it says nothing of any other controller.
//
// It knows the station by wire alone: it polls encoders, drives and the
// interlock unit over the network once a control cycle, and it is commanded and
// observed through its SNMP agent. The same code runs as coroutines of the
// virtual clock, as goroutines, and as a process of its own.
//
// Reading order: settings, motion (the reference), axis (start, run and stop of
// one axis), loop (its position loop), stop_cause (which cause asks for which
// stop), supervise and wind (which cause is there), command and hand (what moves
// an axis), auto_stow, panel and wire (the exchanges of a cycle), agent, rules
// (where the parts hand over to each other), controller.
//
// Seeded defects stand in defect*.go, around those rules: the rest knows of none.
package standin
