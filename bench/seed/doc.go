// Package seed owns randomness. A run has one seed, printed first; every use
// of chance derives its own stream from it by name, so that drawing more in
// one place never shifts what another place draws, and the same seed gives the
// same bytes on every machine.
//
// Names are hashed with SHA-256 and a stream is ChaCha8 keyed by that hash;
// both are fixed by their definitions, so results do not move with the Go
// version. No other package makes a random generator.
package seed
