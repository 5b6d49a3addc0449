// Package features holds the scenarios that ship with the bench, one file for
// each thing that must stop an antenna or must not move it.
//
// A Rule is a demand in plain words and carries the tags of the requirements that
// its scenarios ask about; @smoke marks the few that a first look runs. Every
// sentence has the form of a phrase of bench/scenario (`haltmark phrases` prints
// them). Embedding the files is all that the package does.
package features
