// Package scenario turns plain-language scenarios into runs of the bench.
//
// It owns the phrase table, the single source of what a sentence may say. Every
// sentence of every selected scenario is matched before anything starts. Given
// sets up and lets no time pass; the first When builds the world and starts the
// controller; Then waits, within bounds, and asks for a measurement, but judges
// nothing: verdicts are computed afterwards, from the record alone.
//
// One run is one example at one phase at one seed; which runs there are is the
// campaign's business.
package scenario
