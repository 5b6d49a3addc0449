package campaign_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"haltmark/bench/campaign"
	"haltmark/bench/scenario"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/bench/verdict"
	"haltmark/fixtures"
)

// part is something that a station may lack.
type part struct {
	name, station string
	without       map[string]string // what of the station's file becomes what
	about         string            // sentences about it
	named         []string          // faults about it, each with its target
	shipped       int               // at least so many shipped scenarios are about it
	lacks         string            // in the reason
	unread        string            // quantities that the interlock unit's map loses too
}

func parts() []part {
	return []part{
		{"weather mast", "demo", map[string]string{`\nmast:\n( .*\n)+`: "\n"},
			`weather mast|limit for stowing$`,
			[]string{"mast_spike begins on mast, with by 20 m/s", "silence begins on mast",
				"pulled_cable begins on mast"}, 13, "no mast", ""},
		{"enabling device", "demo",
			map[string]string{"enabling_device: true": "enabling_device: false"},
			"enabling device", []string{"enabling_released begins on station",
				"input_stuck begins on interlock, with input enabling_device"}, 4, "no enabling device", ""},
		{"isolators", "demo", map[string]string{`, isolator\]`: "]", `\[isolator\]`: "[]"},
			"isolator", []string{"isolator_opened begins on polarization_v",
				"input_stuck begins on interlock, with input isolator_azimuth"}, 2, "no isolator",
			"isolator_"},
		{"final limits", "demo", map[string]string{`\[final_limit, `: "["},
			"final-limit switch|final limit (has|opens|and|is reported)",
			[]string{"final_limit_open begins on azimuth.upper",
				"final_limits_swapped begins on elevation",
				"override_key_left_on begins on station"}, 10, "no final limit", ""},
		{"stow pins", "demo", map[string]string{`\n +stow_pin:[^\n]*`: ""},
			"stow pin", []string{"stow_pin_in begins on azimuth", "pin_inserted begins on elevation"},
			3, "no stow pin", ""},
		{"second read heads", "large", map[string]string{"second_head: true": "second_head: false"},
			"", []string{"second_head_offset begins on azimuth, with by 5 deg",
				"second_head_frozen begins on elevation", "second_head_alarm begins on azimuth"},
			0, "no second read head", ""},
		{"torque offsets", "small", nil, "", []string{"drive_offset_lost begins on azimuth.2"},
			0, "no torque offset", ""},
	}
}

// stationFile writes the file of the station that lacks the part.
func (one part) stationFile(t *testing.T) string {
	t.Helper()
	text, err := fixtures.Files.ReadFile("stations/" + one.station + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	for from, to := range one.without {
		changed := regexp.MustCompile(from).ReplaceAllString(string(text), to)
		if changed == string(text) {
			t.Fatalf("%s: the file of %s has no %s", one.name, one.station, from)
		}
		text = []byte(changed)
	}
	path := write(t, "station.yaml", string(text))
	if one.unread == "" {
		return path
	}
	const name = "interlock-bits.yaml"
	if text, err = fixtures.Files.ReadFile("maps/" + name); err != nil {
		t.Fatal(err)
	}
	row := regexp.MustCompile(`(?s)  - \{quantity: ` + one.unread + `[^}]*\}\n`)
	text = row.ReplaceAll(text, nil)
	if err := os.WriteFile(filepath.Join(filepath.Dir(path), name), text, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// A scenario about what a station lacks is bad input, or leaves its question open and says
// what is missing. It never passes; what watches hold through every scenario may fail in it,
// as where no final limit stops an axis.
func TestParts_WhatAStationLacksIsNeverShown(t *testing.T) {
	for _, one := range parts() {
		t.Run(one.name, func(t *testing.T) {
			t.Parallel()
			a, err := campaign.Assemble(campaign.Choice{Station: one.stationFile(t),
				Controller: "standin", Tags: "@HR-001"})
			if err != nil {
				t.Fatal(err)
			}
			whole, err := campaign.Assemble(campaign.Choice{Station: one.station,
				Controller: "standin"})
			if err != nil {
				t.Fatal(err)
			}
			p, found := a.Plan(seed.Seed(1), 1, station.DefaultStep, 1), 0
			p.Examples = one.own(t)
			for _, e := range whole.Examples {
				if !one.concerns(&e) {
					continue
				}
				found++
				if err := p.Run.Rehearse(&e); err == nil {
					p.Examples = append(p.Examples, e)
				} else if !strings.Contains(err.Error(), one.lacks) {
					t.Errorf("%s is refused for something else: %v", e.Name, err)
				}
			}
			if found < one.shipped {
				t.Errorf("%d shipped scenarios are about it, want %d", found, one.shipped)
			}
			one.undecided(t, p)
		})
	}
}

// own are scenarios of which each has one sentence that needs the part.
func (one part) own(t *testing.T) (examples []scenario.Example) {
	for _, sentence := range map[string][]string{
		"final limits": {
			"the hand control of azimuth is held inward for 1 s with the override key turned",
			"azimuth is commanded outward at full rate until its upper final limit has stopped it",
			"the upper final limit of azimuth opens for 300 ms"},
		"stow pins":       {"the stow pin interlock opens"},
		"isolators":       {"the isolator of polarization H opens"},
		"enabling device": {"the enabling device is released", "the enabling device is fully pressed"},
	}[one.name] {
		a, err := campaign.Assemble(campaign.Choice{Station: one.station, Controller: "standin",
			Features: []string{ownFeature(t, "When "+sentence)}})
		if err != nil {
			t.Fatal(err)
		}
		examples = append(examples, a.Examples...)
	}
	return examples
}

// ownFeature writes a file with one scenario of these steps.
func ownFeature(t *testing.T, steps string) string {
	return write(t, "my.feature", "Feature: F\n  @HR-020 @HR-021\n  Rule: R\n    Scenario: S\n"+
		"    "+steps+"\n    Then azimuth stops within its category 1 time and travel\n")
}

func (one part) concerns(e *scenario.Example) bool {
	about := regexp.MustCompile(one.about)
	for _, s := range e.Steps {
		if one.about != "" && about.MatchString(s.Text) {
			return true
		}
	}
	return false
}

// undecided carries scenarios out whose question has to stay open.
func (one part) undecided(t *testing.T, p *campaign.Plan) {
	t.Helper()
	cases, err := p.Do()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		if c.Verdict == verdict.Pass || !strings.Contains(c.Reason, one.lacks) {
			t.Errorf("%s (%s:%d) is %v: %s", c.Example.Name, c.Example.Path, c.Example.Line,
				c.Verdict, c.Reason)
		}
	}
}

// A wind blows without a mast too, as it pushes the antenna all the same; what cannot blow
// is bad input.
func TestParts_WindNeedsNoMast(t *testing.T) {
	lacking := parts()[0].stationFile(t)
	for speed, want := range map[string]string{"6 m/s": "", "18 m/s": "0 m/s is below 0.1 m/s"} {
		_, err := campaign.Assemble(campaign.Choice{Station: lacking, Controller: "standin",
			Features: []string{ownFeature(t, "Given the wind is "+speed+
				" below the mean limit for stowing\n    When azimuth is commanded to rest on its brakes")}})
		if want == "" && err != nil || want != "" && (err == nil ||
			!strings.Contains(err.Error(), want)) {
			t.Errorf("%s: %v, want %q", speed, err, want)
		}
	}
}

// A fault that a file names is refused before anything runs, in a Given and in a When; the
// same file is sound where the station has the part.
func TestParts_NamedFaultsAreBadInput(t *testing.T) {
	for _, one := range parts() {
		lacking := one.stationFile(t)
		for _, named := range one.named {
			standing := strings.Replace(named, "begins", "is present", 1)
			for keyword, steps := range map[string]string{
				"Given": "Given the fault " + standing +
					"\n    When azimuth is commanded to rest on its brakes",
				"When": "When the fault " + named,
			} {
				choice := campaign.Choice{Station: lacking, Controller: "standin",
					Features: []string{ownFeature(t, steps)}}
				_, err := campaign.Assemble(choice)
				if err == nil || !strings.Contains(err.Error(), one.lacks) ||
					!strings.Contains(err.Error(), "my.feature:") {
					t.Errorf("%s, %s %s: %v", one.name, keyword, named, err)
				}
				if one.without == nil {
					continue
				}
				choice.Station = one.station
				if _, err = campaign.Assemble(choice); err != nil {
					t.Errorf("%s %s on a station that has it: %v", keyword, named, err)
				}
			}
		}
	}
}
