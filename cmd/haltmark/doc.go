// Command haltmark is the bench on the command line: it reads what a person gives,
// has bench/campaign carry it out and prints what came of it. One file holds one
// subcommand.
//
// It ends with 0 when everything passed, 1 when a requirement failed, 2 when
// something stays open, 3 when what it was given is wrong, before anything runs,
// and 4 when the bench itself failed.
package main
