package scenario

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"haltmark/bench/config"
	"haltmark/bench/nearest"
	"haltmark/bench/quantity"
	"haltmark/bench/seed"
	"haltmark/features"
)

// sample writes a value of a kind that a sentence may hold.
func sample(t *testing.T, name string, draw *seed.Stream) string {
	t.Helper()
	pick := func(words ...string) string { return words[draw.IntN(len(words))] }
	number := fmt.Sprintf("%g", 0.5+float64(draw.IntN(100)))
	switch name {
	case "axis":
		return pick("azimuth", "elevation", "polarization H", "polarization V")
	case "end":
		return pick("lower", "upper")
	case "angle":
		return pick("", "-") + number + pick(" deg", "deg", " rad")
	case "rate":
		return number + pick(" deg/s", " rad/s")
	case "span":
		return number + pick(" ms", " s", "s", " min")
	case "number":
		return fmt.Sprint(draw.IntN(12))
	case "mode":
		return pick("remote", "local", "maintenance")
	case "access":
		return pick("hatch", "ladder", "stow pin")
	case "sense":
		return pick("outward", "inward")
	case "share":
		return pick("full", "half", "a quarter of full", "a tenth of full")
	case "part":
		return pick("four fifths", "half", "a quarter", "a tenth")
	case "torque":
		return number + pick(" N m", " kN m", "kN m")
	case "speed":
		return number + pick(" m/s", "m/s")
	case "fault":
		return "messages_lost"
	case "target":
		return "azimuth.encoder"
	case "settings":
		return "probability " + number + " %"
	case "wind":
		return pick("mean", "gust")
	case "activity":
		return pick(activityWords()...)
	case "state":
		return pick(stateWords()...)
	case "order":
		return pick(orderWords()...)
	}
	t.Fatalf("no sample of {%s}", name)
	return ""
}

// Every sentence that a pattern can make is read by that pattern and no other.
func TestPhrases_NoSentenceHasTwoMeanings(t *testing.T) {
	draw := seed.Seed(1).Stream("sentences")
	for _, p := range Phrases() {
		for range 200 {
			text := hole.ReplaceAllStringFunc(p.Pattern, func(h string) string {
				return sample(t, strings.Trim(h, "{}"), draw)
			})
			var readers []string
			for _, other := range Phrases() {
				if _, ok, err := other.read(text); ok {
					readers = append(readers, other.Pattern)
					if err != nil {
						t.Errorf("%q: %v", text, err)
					}
				}
			}
			if len(readers) != 1 || readers[0] != p.Pattern {
				t.Fatalf("%q is read by %q, want %q alone", text, readers, p.Pattern)
			}
		}
	}
}

func TestPhrases_AreWhole(t *testing.T) {
	seen, used := map[string]bool{}, map[string]bool{}
	for _, p := range Phrases() {
		if seen[p.Pattern] || p.About == "" || p.Does == nil {
			t.Errorf("%q: twice, or without a word about it, or does nothing", p.Pattern)
		}
		seen[p.Pattern] = true
		if (len(p.Asks) > 0) != (p.Keyword == Then) {
			t.Errorf("%q is a %v and asks for %d measures", p.Pattern, p.Keyword, len(p.Asks))
		}
		for _, v := range p.values {
			used[v.name] = true
		}
	}
	for _, h := range placeholders() {
		if !used[h.name] {
			t.Errorf("no phrase holds a {%s}", h.name)
		}
	}
}

// A number in a sentence means something: a Then takes it as its limit, and one that is out of
// all reason is refused before anything runs, whatever the phrase.
func TestPhrases_NumbersCountAndHaveBounds(t *testing.T) {
	numbers := map[string]string{"angle": "10000000 deg", "rate": "10000000 deg/s",
		"span": "10000000 s", "number": "99", "torque": "10000000 MN m", "speed": "10000000 m/s"}
	for _, p := range Phrases() {
		for _, v := range p.values {
			if _, is := numbers[v.name]; !is {
				continue
			}
			if p.Keyword == Then && !slices.ContainsFunc(p.Asks, func(q question) bool {
				return q.limit != nil
			}) {
				t.Errorf("%q has a {%s} that no question takes as its limit", p.Pattern, v.name)
			}
			draw := seed.Seed(1).Stream(p.Pattern)
			text := hole.ReplaceAllStringFunc(p.Pattern, func(h string) string {
				switch name := strings.Trim(h, "{}"); name {
				case v.name:
					return numbers[name]
				case "axis":
					return "azimuth"
				case "number":
					return "1"
				case "activity":
					return "moving at full rate"
				default:
					return sample(t, name, draw)
				}
			})
			if _, _, err := match(p.Keyword, text); err == nil {
				t.Errorf("%q is taken", text)
			}
		}
	}
}

// trials are the phrases that no shipped feature uses; TestRun_Trials runs each.
const trials = `Feature: Phrases without a shipped scenario
  @HR-001
  Rule: They do what they say
    Scenario: Sentences of people and weather
      Given azimuth rests in mid-travel
      And an external torque of 5 kN m acts on azimuth towards its upper end
      And brake 1 of azimuth is worn to four fifths of its torque
      When azimuth moves towards its lower end at half rate
      And a reset is commanded
      Then azimuth comes to rest inside its lower software limit
`

// sentencesOf reads features and fails on the least error.
func sentencesOf(t *testing.T, path string, source []byte) []Example {
	t.Helper()
	examples, errs := Parse(path, source)
	if len(errs) > 0 {
		t.Fatal(messagesOf(errs))
	}
	return examples
}

// shipped reads every embedded feature.
func shipped(t *testing.T) []Example {
	t.Helper()
	entries, err := features.Files.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	set, err := config.LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	var all []Example
	for _, entry := range entries {
		source, err := features.Files.ReadFile(entry.Name())
		if err != nil {
			t.Fatal(err)
		}
		examples, errs := Parse("features/"+entry.Name(), source, Tables(set.Strikes, false)...)
		if len(errs) > 0 {
			t.Fatal(messagesOf(errs))
		}
		all = append(all, examples...)
	}
	return all
}

func TestPhrases_EachIsTried(t *testing.T) {
	used := map[string]bool{}
	for _, e := range append(shipped(t), sentencesOf(t, "trials.feature", []byte(trials))...) {
		for _, s := range e.Steps {
			used[s.Phrase.Pattern] = true
		}
	}
	for _, p := range Phrases() {
		if !used[p.Pattern] {
			t.Errorf("no scenario says: %v %s", p.Keyword, p.Pattern)
		}
	}
}

func TestMatch_Values(t *testing.T) {
	read := func(k Keyword, text string) Words {
		t.Helper()
		_, w, err := match(k, text)
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	w := read(Given, "elevation rests 24 deg inside its lower software limit")
	if w.Axis.String() != "elevation" || w.End != 0 || !w.NamesEnd || w.Angle != 24*quantity.Degree {
		t.Errorf("%+v", w)
	}
	w = read(When, "polarization V moves towards its upper end at a quarter of full rate")
	if w.Axis.String() != "polarization_v" || w.End != 1 || w.Share != 0.25 {
		t.Errorf("%+v", w)
	}
	w = read(When, "the hand control of azimuth is held inward for 1.5 s with the override key turned")
	if w.Sense != "inward" || w.Span != 1500*time.Millisecond || w.NamesEnd {
		t.Errorf("%+v", w)
	}
	w = read(Given, "an external torque of 30 kN m acts on azimuth towards its lower end")
	if w.Torque != 30*quantity.KilonewtonMetre || w.End != 0 {
		t.Errorf("%+v", w)
	}
	w = read(Given, "brake 2 of elevation is worn to four fifths of its torque")
	if w.Number != 2 || w.Share != 0.8 {
		t.Errorf("%+v", w)
	}
	w = read(When, "the encoder of azimuth drifts at 0.8 deg/s")
	if w.Rate != 0.8*quantity.DegreePerSecond {
		t.Errorf("%+v", w)
	}
	w = read(When, "the stow pin interlock opens")
	if w.Access != "stow pin" {
		t.Errorf("%+v", w)
	}
}

// Word by word by hand: an insertion or a removal costs 1, a change 2, a
// placeholder stands for any word.
func TestDistance(t *testing.T) {
	for _, one := range []struct {
		a, b string
		want int
	}{
		{"", "", 0},
		{"azimuth turns", "", 2},
		{"azimuth turns", "{axis} turns", 0},
		{"azimuth spins", "{axis} turns", 2},
		{"polarization H turns", "{axis} turns", 1},
		{"turns", "{axis} turns", 1},
		{"the hatch opens", "the {access} interlock opens", 1},
		{"a b c d", "d c b a", 6},
	} {
		if got := nearest.Distance(strings.Fields(one.a), strings.Fields(one.b),
			changeOfWord); got != one.want {
			t.Errorf("%q to %q: %d, want %d", one.a, one.b, got, one.want)
		}
	}
}

func TestNearest_OfTheKeywordAlone(t *testing.T) {
	for _, one := range []struct {
		keyword    Keyword
		text, want string
	}{
		{When, "the emergency stop was pressed", "the emergency stop is pressed"},
		{When, "the hatch interlock", "the {access} interlock opens"},
		{Given, "a channel of the emergency stop is welded",
			"channel {number} of the emergency stop is welded closed"},
		{Then, "the reset fails", "the reset is refused"},
	} {
		if got := nearestPattern(one.keyword, one.text); got != one.want {
			t.Errorf("%q: %q, want %q", one.text, got, one.want)
		}
	}
}
