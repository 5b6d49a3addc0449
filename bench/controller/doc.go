// Package controller is the bench's side of the controller under test: what its
// sheet says of it (Profile), the supervisory system that watches and commands it
// over SNMP (Observer), and how it is started and stopped (Controller).
//
// The observer polls status and cycle counter every 20 ms and the table of axes
// once a second, receives notifications, and keeps the last state and first cause
// with the instant at which each was learned. A counter that stands still and an
// agent that is silent are states of their own. Commands are Sets, retried under
// one token, and their outcome can be read.
//
// States, causes and verbs have one vocabulary here, with numbers that the record
// keeps; a profile maps a controller's own numbers to it.
package controller
