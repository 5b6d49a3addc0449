// Package bench is the root of the bench's own packages and holds no code of
// its own, only the tests that keep the house in order: which package may
// import which, where time and chance may be read, how large a file, a
// function, a line or an interface may grow.
//
// The packages below it, from the ground up: quantity and seed; plant, the
// mechanics; record and verdict, what happened and what it is worth; clock and
// link, time and the network; station, fault, standin and controller, the world
// and the one who steers it; config and scenario, what people write; campaign,
// which scenarios run and what they add up to. The devices on the wire are in
// emulators.
package bench
