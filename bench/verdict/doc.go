// Package verdict says what a record is worth: requirements, the measures that
// answer them, the watches that hold through every scenario, guarded acceptance
// with its uncertainty, phases, waivers and exit codes.
//
// Judge is one pure function of a record, what was asked, the requirements and
// the station's parameters. It serves a run as it ends and the same run read
// back from its folder. What cannot be judged is inconclusive and says why; it
// is never a pass.
//
// Reading order: accept, requirement, trace, signal and formula (signal temporal
// logic), cause, measure and the files beside it, watch, judge, phases, standing.
//
// Values are SI; times in values are seconds, instants are time.Duration.
package verdict
