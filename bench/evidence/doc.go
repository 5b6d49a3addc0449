// Package evidence writes down what a run found: the run folder with its
// manifest, the records as Parquet, summary.json, JUnit XML, Cucumber JSON and
// one report that stands by itself, and reads a folder back for judging anew.
//
// The folder is written as the run goes: manifest.json first, the raw record of
// each phase while it runs, case.json as each scenario ends, and the files about
// the whole run at the end. A killed run leaves what it had.
//
// Host, time of day and wall time stand in host.json alone, and the command line
// in manifest.json alone; every other file is the same, byte for byte, for equal
// build, seed and fixtures.
//
// Reading order: case and run (what a campaign fills in), folder, samples and
// events (Parquet), form (JSON), junit, cucumber, plot, report.
//
// Values are SI (rad, rad/s, N m, s) with their quantity.Dimension; instants are
// counted from the world's start.
package evidence
