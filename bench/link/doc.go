// Package link carries messages between controllers and devices.
//
// A device is a Service: framing cuts the byte stream into messages, each
// message that arrives first advances the station to that instant and is then
// answered by the connection's Session. There are two networks. Memory
// delivers by events of a clock, copies into pooled buffers and gives the
// errors a real network gives, a time-out costing the time it says. Host
// listens on real TCP and UDP ports and bears peers that are slow, half-open,
// or hostile: every buffer, queue and wait is bounded.
//
// Each party has an end of the wire with impairments of its own: a Service, and a
// Client for all its connections. Each direction of an end is one stage, and the
// packet tap shows what reaches and what leaves a device. An impairment of
// probability zero equals none; one that is removed takes with it what waited for
// it, and waits for nobody.
package link
