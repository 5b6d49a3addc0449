package config

import (
	"regexp"
	"strings"
	"testing"

	"haltmark/bench/verdict"
)

// Stop categories and reach of the causes are common practice: what endangers people or
// takes the eyes of the controller stops every axis, along a ramp where the drives can
// still follow one (IEC 60204-1 9.2.2); what a drive does against its command takes the
// torque at once; what an operator asks for, and the ends of ordinary travel, keep it.
func TestCauses_StopAsThePracticeIs(t *testing.T) {
	for _, c := range []struct {
		causes    string
		category  int
		everyAxis bool
		latching  bool
	}{
		{"operator_stop software_limit pre_limit", 2, false, false},
		{"hand_released", 1, false, false},
		{"final_limit drive_trip drive_silent overspeed uncontrolled_motion", 0, false, true},
		{"encoder_lost encoder_implausible", 1, false, true},
		{"emergency_stop access_opened mode_changed interlock_silent controller_silent " +
			"brake_feedback wind wind_data_invalid", 1, true, true},
		{"supply_lost", 0, true, true},
	} {
		for _, name := range strings.Fields(c.causes) {
			got, known := Causes().Stop(name)
			if !known || got.Category != c.category || got.EveryAxis != c.everyAxis ||
				got.Latching != c.latching {
				t.Errorf("%s: %+v", name, got)
			}
		}
	}
	for _, name := range []string{"torque_unproved", "following_error", "none"} {
		if _, known := Causes().Stop(name); known {
			t.Errorf("%s is marked by nothing and counts as a stop cause", name)
		}
	}
}

// Whoever reads a statement learns what shall be, and by which figure it is judged.
func TestStatements_SayShallAndTheirFigure(t *testing.T) {
	set, err := LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	figure := regexp.MustCompile(`[0-9] (ms|s|deg|deg/s|k?N m)\b`)
	for _, name := range Embedded(kindStation) {
		st, err := LoadStation(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range set.For(st).Requirements {
			if len(q.Limit) > 0 && !figure.MatchString(q.Statement) {
				t.Errorf("%s: %s has a limit and tells no figure: %s", name, q.ID, q.Statement)
			}
			if !strings.Contains(q.Statement, " shall ") ||
				strings.ContainsAny(q.Statement, "{}") || strings.Contains(q.Statement, "not give") {
				t.Errorf("%s: %s: %s", name, q.ID, q.Statement)
			}
		}
	}
}

// Two rows of one id are one requirement about both causes; a row's own words, limit and
// supervision time stand in place of the duty's.
func TestCauseTable_RowsBecomeRequirements(t *testing.T) {
	set, err := LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	demo, err := LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	rules := set.For(demo)
	for id, want := range map[string]string{
		"HR-038": "When the interlock of a hatch, a ladder or a stow pin opens while an axis moves, " +
			"or the mode selector is turned while an axis moves, this shall be reported to the " +
			"supervisory system within 1 s.",
		"HR-051": "When a drive of an axis trips, the axis shall stop within a travel of 1.3 deg in " +
			"azimuth, 0.9 deg in elevation.",
		"HR-066": "When the interlock unit has not heard the controller for 200 ms, it shall open its " +
			"own stop chain, and the torque of every axis shall be removed within a further 1.95 s.",
	} {
		if q, ok := rules.Requirement(id); !ok || q.Statement != want {
			t.Errorf("%s: %s\nwant %s", id, q.Statement, want)
		}
	}
	both, _ := rules.Find("report_time", "mode_changed")
	if both.ID != "HR-038" || len(both.Causes) != 2 || both.Answers != verdict.Controller {
		t.Errorf("%+v", both)
	}
}
