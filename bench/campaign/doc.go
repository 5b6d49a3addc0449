// Package campaign decides which runs there are and what they add up to: every
// selected example at every phase of the control cycle, the worst phase once more
// at double the plant step, and the verdicts joined over all of it.
//
// Seeds hang on the example alone, never on the selection or on the number of
// jobs, so that any two campaigns that contain an example give it the same bytes.
//
// Reading order: assemble (names to a checked plan), campaign, phase, join, wall
// (the one run on the wall clock), report and total (what the folder and the exit
// code are made of), judge (the same from a folder alone), devices.
package campaign
