package scenario

import (
	"slices"
	"strings"
	"testing"

	"haltmark/bench/verdict"
)

// A sentence shows nothing where what it is about never came: in a world that was only
// armed no Then passes or fails, and after an operator's stop only those that are about
// a motion and that stop.
func TestThen_IsInconclusiveWithoutItsOccasion(t *testing.T) {
	ofStop := []string{
		"{axis} comes to rest inside its {end} software limit",
		"{axis} stops within its category 2 travel",
		"{axis} keeps its torque and is ready to go on",
		"{axis} moves only after the horn has sounded",
		"{axis} stops within the distance from its pre-limit to its final limit",
	}
	stopped := []string{"azimuth turns toward its upper end at half rate",
		"the operator stops the antenna"}
	for _, p := range Phrases() {
		if p.Keyword != Then {
			continue
		}
		if v, why := occasionless(t, p, "the controller is armed"); v != verdict.Inconclusive {
			t.Errorf("%q after arming: %v %s", p.Pattern, v, why)
		}
		v, why := occasionless(t, p, stopped...)
		if ofIt := slices.Contains(ofStop, p.Pattern); v != verdict.Inconclusive && !ofIt {
			t.Errorf("%q after an operator's stop: %v %s", p.Pattern, v, why)
		}
	}
}

// occasionless is what a Then is worth after these Whens.
func occasionless(t *testing.T, then *Phrase, whens ...string) (verdict.Verdict, string) {
	t.Helper()
	fill := strings.NewReplacer("{axis}", "azimuth", "{end}", "upper", "{span}", "1 s")
	text := "Feature: A\n  @HR-001\n  Rule: R\n    Scenario: S\n" +
		"      Given azimuth rests in mid-travel\n      When " +
		strings.Join(whens, "\n      And ") + "\n      Then " + fill.Replace(then.Pattern) + "\n"
	e := sentencesOf(t, "a.feature", []byte(text))[0]
	r := demoRun(t)
	result := r.Do(&e)
	if result.Err != nil {
		return verdict.Inconclusive, result.Err.Error()
	}
	var asks []verdict.Ask
	for _, a := range result.Record.Asks {
		asks = append(asks, verdict.Ask(a))
	}
	worst := verdict.Inconclusive
	for i, o := range verdict.Judge(result.Record, asks, r.Requirements, r.Limits) {
		if i < len(asks) && o.Verdict != verdict.Inconclusive {
			worst = o.Verdict
		}
	}
	return worst, ""
}
