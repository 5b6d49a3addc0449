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
		"{axis} stops within its category 2 travel",
		"{axis} keeps its torque and stays ready to move",
		"{axis} stops as its stop cause requires",
		"{axis} stops as its first stop cause requires",
		"{axis} moves only after the horn has sounded",
		"{axis} stops within a travel no longer than the distance from its pre-limit to its final limit",
	}
	stopped := []string{"azimuth moves towards its upper end at half rate",
		"the operator commands a stop"}
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

// What comes after a stop that is as strict, or finds nothing under torque, shows nothing
// either: the stop would be credited to it.
func TestThen_IsInconclusiveWhereSomethingElseStopped(t *testing.T) {
	turns, isolator := "azimuth moves towards its upper end at half rate",
		"the isolator of azimuth opens"
	for _, c := range []struct {
		then  string
		whens []string
	}{
		{"{axis} stops within its category 1 time",
			[]string{turns, isolator, "the encoder of azimuth raises its alarm"}},
		{"{axis} stops within its category 1 time",
			[]string{turns, isolator, "the interlock unit stops responding"}},
		{"the torque of {axis} is removed within its torque-off time",
			[]string{turns, isolator, "drive 1 of azimuth stops responding"}},
		{"{axis} stops within its category 2 travel",
			[]string{turns, "the emergency stop is pressed", "the operator commands a stop"}},
		{"{axis} comes to rest inside its {end} software limit",
			[]string{turns, "the operator commands a stop"}},
		{"the torque of its partner is removed within the torque-off time of a partner",
			[]string{"the controller is armed", "drive 1 of azimuth trips"}},
		{"the brakes of {axis} are set within their brake time",
			[]string{"the controller is armed", "the emergency stop is pressed"}},
		{"the torque of every axis is removed by the end of the monitored ramp time",
			[]string{"the controller is armed", "the emergency stop is pressed"}},
		{"{axis} stays at rest after the reset", []string{turns, "the emergency stop is pressed",
			"azimuth has reached standstill without torque",
			"the reset button is pressed and a reset is commanded"}},
		{"{axis} keeps its torque and stays ready to move",
			[]string{"elevation moves towards its upper end at half rate", "the operator commands a stop"}},
		{"{axis} stays in its stow attitude", []string{"the controller is armed"}},
		// A stop that was under way, whatever its category.
		{"{axis} stops within its category 1 time",
			[]string{turns, "the operator commands a stop", "the hatch interlock opens"}},
		{"{axis} stops within its category 1 time",
			[]string{turns, "azimuth is commanded to rest on its brakes", "the hatch interlock opens"}},
		// Nobody would have had this axis move, or it had never moved.
		{"{axis} stays at rest despite the remote command", []string{"the controller is armed",
			"the mode selector is turned to local", "elevation is commanded outward at full rate"}},
		{"{axis} stays at rest while the emergency stop is pressed",
			[]string{"the controller is armed", "the emergency stop is pressed"}},
		{"the torque of every axis stays off",
			[]string{"the controller is armed", "the emergency stop is pressed"}},
		{"{axis} stays at rest after the supply has returned",
			[]string{"the controller is armed", "the whole supply is lost", "the supply returns"}},
		// It no longer moves.
		{"{axis} keeps its commanded rate", []string{turns, "the operator commands a stop",
			"azimuth has reached standstill", "the supervisory system stops communicating"}},
	} {
		for _, p := range Phrases() {
			if p.Pattern != c.then {
				continue
			}
			if v, why := occasionless(t, p, c.whens...); v != verdict.Inconclusive {
				t.Errorf("%q after %q: %v %s", c.then, c.whens, v, why)
			}
		}
	}
}

// occasionless is what a Then is worth after these Whens.
func occasionless(t *testing.T, then *Phrase, whens ...string) (verdict.Verdict, string) {
	t.Helper()
	fill := strings.NewReplacer("{axis}", "azimuth", "{end}", "upper", "{span}", "1 s",
		"{angle}", "0.1 deg", "{rate}", "0.01 deg/s", "{number}", "1", "{speed}", "1 m/s",
		"{torque}", "1 N m")
	if hole.MatchString(fill.Replace(then.Pattern)) {
		t.Fatalf("%q: fill every placeholder here", then.Pattern)
	}
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
	for i, o := range verdict.Judge(result.Record, asks, r.Rules) {
		if i < len(asks) && o.Verdict != verdict.Inconclusive {
			worst = o.Verdict
		}
	}
	return worst, ""
}
