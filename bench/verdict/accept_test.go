package verdict_test

import (
	"math"
	"testing"

	"haltmark/bench/verdict"
)

// JCGM 106:2012 8.3.2 with w = U, and the four statements of ILAC-G8:09/2019, on
// the example of a limit of 0.500 s and two stamps of 1 ms: each 0.28868 ms
// (JCGM 100, rectangular), the difference 0.40825 ms, U = 0.8165 ms.
func TestAccept_AgainstJCGM106Example(t *testing.T) {
	u := verdict.Uncertainty{Timing: verdict.StampUncertainty(0.001)}
	if d := math.Abs(u.Timing - 0.40825e-3); d > 0.5e-8 {
		t.Errorf("standard uncertainty of two stamps = %.8f s, want 0.00040825", u.Timing)
	}
	expanded := u.Expanded()
	if d := math.Abs(expanded - 0.8165e-3); d > 0.5e-7 {
		t.Errorf("U = %.7f s, want 0.0008165", expanded)
	}
	cases := []struct {
		value   float64
		verdict verdict.Verdict
	}{
		{0.4990, verdict.Pass},
		{0.49918, verdict.Pass},
		{0.49919, verdict.Inconclusive},
		{0.4995, verdict.Inconclusive},
		{0.5005, verdict.Inconclusive},
		{0.5010, verdict.Fail},
		{math.NaN(), verdict.Inconclusive},
	}
	for _, c := range cases {
		margin := verdict.Margin(verdict.AtMost, "", c.value, 0.5)
		if got := verdict.Accept(margin, expanded); got != c.verdict {
			t.Errorf("%v s: %v, want %v", c.value, got, c.verdict)
		}
	}
}

// With the value normal about a truth on the limit, the chance of a false accept
// is Phi(-2w/U) (computed, normal distribution): w = U gives 2.275 %, w = 0 50 %.
func TestAccept_ChanceOfAFalseAccept(t *testing.T) {
	const u = 1.0 // standard uncertainty, so U = 2
	accepted := 0.0
	for z := -8.0; z < 8; z += 0.001 { // margin left with a value off by z
		if verdict.Accept(-z*u, 2*u) == verdict.Pass {
			accepted += 0.001 * math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
		}
	}
	if math.Abs(accepted-0.02275) > 1e-4 {
		t.Errorf("chance of a false accept = %.5f, want 0.02275", accepted)
	}
}

// Model and timing add in squares: U = 2 sqrt(timing^2 + model^2).
func TestExpanded(t *testing.T) {
	if u := (verdict.Uncertainty{Timing: 3, Model: 4}).Expanded(); u != 10 {
		t.Errorf("U of 3 and 4 = %v, want 10", u)
	}
}

// The order is the design's: 1 over 4 over 2 over 0.
func TestMerge_Order(t *testing.T) {
	order := []verdict.Verdict{verdict.Pass, verdict.Inconclusive, verdict.BenchFailed, verdict.Fail}
	codes := []int{0, 2, 4, 1}
	for i, weaker := range order {
		if weaker.ExitCode() != codes[i] {
			t.Errorf("%v exits with %d, want %d", weaker, weaker.ExitCode(), codes[i])
		}
		for _, stronger := range order[i:] {
			if got := verdict.Merge(weaker, stronger); got != stronger {
				t.Errorf("merge of %v and %v = %v", weaker, stronger, got)
			}
			if got := verdict.Merge(stronger, weaker); got != stronger {
				t.Errorf("merge of %v and %v = %v", stronger, weaker, got)
			}
		}
	}
	for _, v := range []verdict.Verdict{verdict.NotTestable, verdict.NotExercised} {
		if v.ExitCode() != verdict.ExitInconclusive {
			t.Errorf("%v exits with %d, want 2", v, v.ExitCode())
		}
	}
	if got := verdict.Merge(verdict.NotSelected, verdict.Fail); got != verdict.Fail {
		t.Errorf("what was not selected hides a %v", got)
	}
}
