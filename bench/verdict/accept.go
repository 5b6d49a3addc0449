package verdict

import "math"

// Verdict is the worth of one outcome.
type Verdict int

// The verdicts.
const (
	Pass         Verdict = iota
	Fail                 // outside by more than the uncertainty
	Inconclusive         // within the uncertainty of the limit, or not judgeable
	NotTestable          // this controller or station cannot be brought there
	NotExercised         // a watch without an occasion, a requirement nobody asked for
	NotSelected          // outside of a partial run
	BenchFailed          // the bench itself failed
)

// String is the verdict in words.
func (v Verdict) String() string {
	names := [...]string{"pass", "fail", "inconclusive", "not testable", "not exercised",
		"not selected", "bench failed"}
	if v < 0 || int(v) >= len(names) {
		return "no verdict"
	}
	return names[v]
}

// The exit codes of the command line.
const (
	ExitPass         = 0
	ExitFail         = 1
	ExitInconclusive = 2
	ExitBadInput     = 3
	ExitBenchFailed  = 4
)

// ExitCode is the exit code that one verdict asks for.
func (v Verdict) ExitCode() int {
	switch v {
	case Pass, NotSelected:
		return ExitPass
	case Fail:
		return ExitFail
	case BenchFailed:
		return ExitBenchFailed
	}
	return ExitInconclusive
}

// MergeExit joins two exit codes: 1 over 4 over 2 over 0. Code 3 is said before
// anything runs; should it come, it stands over all.
func MergeExit(a, b int) int {
	rank := [...]int{ExitPass: 0, ExitFail: 3, ExitInconclusive: 1, ExitBadInput: 4,
		ExitBenchFailed: 2}
	if rank[a] >= rank[b] {
		return a
	}
	return b
}

// Merge joins two verdicts by the same order. What was not selected gives way.
func Merge(a, b Verdict) Verdict {
	switch {
	case a == NotSelected:
		return b
	case b == NotSelected || MergeExit(a.ExitCode(), b.ExitCode()) == a.ExitCode():
		return a
	}
	return b
}

// Uncertainty is what is not known of a value, as standard uncertainties in the
// value's own unit: by timing and by model, apart.
type Uncertainty struct{ Timing, Model float64 }

// Expanded is U = 2 sqrt(timing^2 + model^2), coverage factor 2.
func (u Uncertainty) Expanded() float64 {
	return 2 * math.Sqrt(float64(u.Timing*u.Timing)+float64(u.Model*u.Model))
}

// StampUncertainty is the standard uncertainty of the difference of two stamps,
// each rectangular over a width: width/sqrt(12) each (JCGM 100).
func StampUncertainty(width float64) float64 { return width / math.Sqrt(6) }

// Accept judges a margin by guarded acceptance (JCGM 106): pass when it is left
// after taking the expanded uncertainty off, fail when it is overdrawn even with
// it, inconclusive between. margin is positive inside the limit.
func Accept(margin, expanded float64) Verdict {
	switch {
	case math.IsNaN(margin) || math.IsNaN(expanded):
		return Inconclusive
	case margin >= expanded:
		return Pass
	case margin < -expanded:
		return Fail
	}
	return Inconclusive
}
