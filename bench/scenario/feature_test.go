package scenario

import (
	"runtime"
	"strings"
	"testing"
)

// good is a feature without fault; tests spoil it line by line.
const good = `Feature: Stops
  @HR-020
  Rule: It stops
    Scenario: Pressed
      Given azimuth rests in mid-travel
      When azimuth moves towards its upper end at full rate
      And the emergency stop is pressed
      Then azimuth stops within its category 1 time
`

func messagesOf(errs []error) string {
	var lines []string
	for _, err := range errs {
		lines = append(lines, err.Error())
	}
	return strings.Join(lines, "\n")
}

func TestParse_Good(t *testing.T) {
	examples, errs := Parse("a.feature", []byte(good))
	if len(errs) != 0 || len(examples) != 1 {
		t.Fatalf("%d examples, %s", len(examples), messagesOf(errs))
	}
	e := examples[0]
	if e.Feature != "Stops" || e.Rule != "It stops" || e.Name != "Pressed" || e.Line != 4 ||
		e.Row != "" || len(e.Tags) != 1 || e.Tags[0] != "@HR-020" || len(e.Steps) != 4 {
		t.Errorf("%+v", e)
	}
	for i, want := range []Keyword{Given, When, When, Then} {
		if s := e.Steps[i]; s.Keyword != want || s.Line != 5+i || s.Phrase == nil {
			t.Errorf("sentence %d: %v at %d", i+1, s.Keyword, s.Line)
		}
	}
}

// Each way of being wrong, with the whole message.
func TestParse_Errors(t *testing.T) {
	for _, one := range append(append(wrongForms(), wrongOrders()...), wrongValues()...) {
		if strings.Count(good, one.old) != 1 {
			t.Fatalf("%s: the good feature holds %q not once", one.name, one.old)
		}
		_, errs := Parse("a.feature", []byte(strings.Replace(good, one.old, one.new, 1)))
		got := messagesOf(errs)
		if one.name == "syntax" { // the words are the parser's, the place is ours
			got = got[:min(len(got), len(one.want))]
		}
		if got != one.want {
			t.Errorf("%s:\n%s\nwant\n%s", one.name, got, one.want)
		}
	}
}

// spoilt is the good feature with one text in place of another.
type spoilt struct{ name, old, new, want string }

func wrongForms() []spoilt {
	return []spoilt{
		{"description", "Scenario: Pressed\n", "Scenario: Pressed\n      In motion.\n",
			`a.feature:4: scenario "Pressed" has a description; say it in its sentences or in its Rule; ` +
				`sentences begin with Given, When, Then, And or But, spelled so`},
		{"outside a Rule", "  Rule: It stops\n", "",
			`a.feature:3: scenario "Pressed" stands outside a Rule; put it under the Rule it shows`},
		{"Background", "    Scenario:",
			"    Background:\n      Given elevation rests in mid-travel\n    Scenario:",
			`a.feature:4: a Background hides set-up from the reader; say it in each scenario`},
		{"Background of the feature", "  @HR-020\n",
			"  Background:\n    Given nothing at all\n\n  @HR-020\n",
			`a.feature:2: a Background hides set-up from the reader; say it in each scenario` + "\n" +
				`a.feature:3: no phrase says "nothing at all"; nearest: Given {axis} rests in mid-travel`},
		{"table", "in mid-travel\n", "in mid-travel\n        | a |\n",
			`a.feature:5: "azimuth rests in mid-travel" carries a table or a text; a sentence says ` +
				`all in one line`},
		{"text", "in mid-travel\n", "in mid-travel\n        \"\"\"\n        a\n        \"\"\"\n",
			`a.feature:5: "azimuth rests in mid-travel" carries a table or a text; a sentence says ` +
				`all in one line`},
		{"Examples without a row", "category 1 time\n",
			"category 1 time\n\n      Examples:\n        | axis |\n",
			`a.feature:4: scenario "Pressed" has Examples without a row; it would never run`},
		{"empty scenario", "    Scenario:", "    Scenario: Nothing\n\n    Scenario:",
			`a.feature:4: scenario "Nothing" is empty; give it a Given, a When and a Then`},
		{"empty Rule", "  @HR-020\n", "  Rule: Nothing\n\n  @HR-020\n",
			`a.feature:2: rule "Nothing" has no scenario that shows it`},
		{"stray tag", "  @HR-020\n", "  @HR-020 @\n",
			`a.feature:2: "@" is no tag; need @ and a name without ~ , and &; name it or remove it`},
		{"stray tag of a scenario", "    Scenario:", "    @\n    Scenario:",
			`a.feature:4: "@" is no tag; need @ and a name without ~ , and &; name it or remove it`},
		{"tag that no selection can name", "    Scenario:", "    @a,b\n    Scenario:",
			`a.feature:4: "@a,b" is no tag; need @ and a name without ~ , and &; name it or remove it`},
		{"tag alone", "category 1 time\n", "category 1 time\n  @alone\n",
			"a.feature:10: the file ends in the middle: its last tags or Examples belong to nothing; " +
				form},
		{"syntax", "  Rule: It stops", "  Rool: It stops",
			`a.feature:3: `},
	}
}

func wrongOrders() []spoilt {
	return []spoilt{
		{"unknown phrase", "azimuth moves towards its upper end", "azimuth spins towards its upper end",
			`a.feature:6: no phrase says "azimuth spins towards its upper end at full rate"; ` +
				`nearest: When {axis} moves towards its {end} end at {share} rate`},
		{"Given after When", "      Then az", "      Given elevation rests in mid-travel\n      Then az",
			"a.feature:8: a Given after a When: set-up comes first, since time passes from the " +
				"first When on"},
		{"Then before When", "      When az",
			"      Then azimuth stops within its category 0 travel\n      When az",
			"a.feature:6: a Then before any When: nothing has happened yet that could be measured"},
		{"no Then", "      Then azimuth stops within its category 1 time\n", "",
			`a.feature:4: scenario "Pressed" asks for nothing; end it with a Then`},
		{"wrong keyword", "Given azimuth rests in mid-travel", "Given the emergency stop is pressed",
			`a.feature:5: "the emergency stop is pressed" is a When, and stands here as a Given`},
		{"neither of the three", "      Given az",
			"      * elevation rests in mid-travel\n      Given az",
			`a.feature:5: "elevation rests in mid-travel" is neither Given nor When nor Then; ` +
				`begin it with one of them`},
		{"begins with And", "      Given az", "      And az",
			`a.feature:5: "azimuth rests in mid-travel" is neither Given nor When nor Then; begin ` +
				`it with one of them`},
	}
}

func wrongValues() []spoilt {
	return []spoilt{
		{"value without unit", "in mid-travel", "12 inside its lower software limit",
			`a.feature:5: "12": no unit provided; need deg or rad`},
		{"short value without unit", "in mid-travel", "8 inside its lower software limit",
			`a.feature:5: "8": no unit provided; need deg or rad`},
		{"wrong unit", "in mid-travel", "12 s inside its lower software limit",
			`a.feature:5: "12 s": unknown unit "s"; need deg or rad`},
		{"unit of two words", "rests in mid-travel",
			"rests in mid-travel\n      And an external torque of 3 kg m acts on azimuth towards " +
				"its upper end",
			`a.feature:6: "3 kg m": unknown unit "kg m"; need N m, kN m or MN m`},
		{"span without unit", "the emergency stop is pressed",
			"the upper final limit of azimuth opens for 300",
			`a.feature:7: "300": no unit provided; need us, ms, s, min or h`},
		{"no number", "in mid-travel", "1.2.3 deg inside its lower software limit",
			`a.feature:5: "1.2.3 deg": unknown unit ".3 deg"; need deg or rad`},
	}
}

// What no editor shows, and tags that a description swallows.
func TestParse_UnseenCharacters(t *testing.T) {
	const utf8 = "; write the file as plain UTF-8 text"
	const own = "; tags stand on a line of their own above what they are for"
	for _, one := range []struct{ old, new, want string }{
		{"Feature: Stops", "Feature: St\x00ops",
			`a.feature:1: "Feature: St\x00ops" holds a control character` + utf8},
		{"Scenario: Pressed", "Scenario: \x1b[31mPressed",
			`a.feature:4: "    Scenario: \x1b[31mPressed" holds a control character` + utf8},
		{"Rule: It stops", "Rule: It \xff stops",
			`a.feature:3: "  Rule: It \xff stops" is not UTF-8` + utf8},
		{"Scenario: Pressed\n", "Scenario: Pressed\r",
			`a.feature:4: "    Scenario: Pressed\r      Given azimuth rests in mid-travel" holds a ` +
				`control character` + utf8},
		{"Rule: It stops\n", "Rule: It stops\n    smoke @quick\n",
			`a.feature:3: the description of rule "It stops" names "@quick"` + own},
		{"Feature: Stops\n", "Feature: Stops\n  of @all\n",
			`a.feature:1: the description of feature "Stops" names "@all"` + own},
	} {
		_, errs := Parse("a.feature", []byte(strings.Replace(good, one.old, one.new, 1)))
		if got := messagesOf(errs); got != one.want {
			t.Errorf("%q:\n%s\nwant\n%s", one.new, got, one.want)
		}
	}
}

// Longer lines than the reader takes, and values that would break a sentence in two.
func TestParse_Lines(t *testing.T) {
	long := good + "# " + strings.Repeat("x", 70_000) + "\n"
	_, errs := Parse("a.feature", []byte(long))
	want := "a.feature:9: the line has 70003 bytes; the longest that is read has 32768; say it " +
		"in several"
	if got := messagesOf(errs); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	edge := good + "# " + strings.Repeat("x", lineLimit-3) + "\n"
	if _, errs := Parse("a.feature", []byte(edge)); len(errs) != 0 {
		t.Errorf("a line of %d bytes: %s", lineLimit, messagesOf(errs))
	}
	broken := strings.Replace(good, "Scenario: P", "Scenario Outline: <p>", 1) +
		"\n      Examples:\n        | p   |\n        | a\\nb |\n"
	_, errs = Parse("a.feature", []byte(broken))
	want = "a.feature:12: a value holds a line break; a sentence is one line; write it without"
	if got := messagesOf(errs); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
}

// The cost of an outline is that of its rows: it needs twice as much for twice as many.
// What an example holds on to is not the file that it came from.
func TestParse_RowsCostTheirOwn(t *testing.T) {
	rows := func(n int) float64 {
		source := []byte(strings.Replace(good, "Scenario: P", "Scenario Outline: <p>", 1) +
			"\n      Examples:\n        | p |\n" + strings.Repeat("        | x |\n", n))
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if examples, errs := Parse("a.feature", source); len(errs) > 0 || len(examples) != n {
			t.Fatal(len(examples), messagesOf(errs))
		}
		runtime.ReadMemStats(&after)
		return float64(after.TotalAlloc - before.TotalAlloc)
	}
	if few, many := rows(2000), rows(4000); many > 2.5*few {
		t.Errorf("%.0f bytes for 2000 rows, %.0f for 4000", few, many)
	}
	examples, _ := Parse("a.feature", []byte(several))
	if size := len(examples[1].source()); size > 300 {
		t.Errorf("the source of one example has %d bytes", size)
	}
}

func TestParse_NoFeature(t *testing.T) {
	for _, text := range []string{"", "# only a remark\n"} {
		_, errs := Parse("a.feature", []byte(text))
		if got := messagesOf(errs); got != "a.feature:1: the file holds no feature" {
			t.Errorf("%q: %s", text, got)
		}
	}
}

// Values that can mean nothing are found before any run.
func TestParse_ValuesOutOfRange(t *testing.T) {
	const (
		given, when, then = "azimuth rests in mid-travel", "the emergency stop is pressed",
			"azimuth stops within its category 1 time"
		noSwitches = "polarization H has no limit switches, buffers or brakes; " +
			"only azimuth and elevation do"
		noSpan = " is no time to hold or to wait; need more than 0 s and at most 10m0s"
	)
	for _, one := range []struct{ old, text, want string }{
		{when, "drive 3 of azimuth trips", "azimuth has no motor, drive or brake 3; it has 1 and 2"},
		{when, "drive 0 of elevation runs away",
			"elevation has no motor, drive or brake 0; it has 1 and 2"},
		{when, "drive 2 of polarization V stops responding",
			"polarization V has no motor, drive or brake 2; it has 1 alone"},
		{when, "drive 99999999999999999999 of azimuth trips",
			`"99999999999999999999": too large a number`},
		{when, "the upper final limit of polarization H opens for 1 s", noSwitches},
		{when, "the upper final limit of azimuth opens for 0 s", "0s" + noSpan},
		{when, "the hand control of azimuth is held inward for 11 min with the override key turned",
			"11m0s" + noSpan},
		{when, "the hand control of azimuth is held outward for -1 s without the override key",
			"-1s" + noSpan},
		{when, "the hand control of azimuth is held towards its lower end for 1 h", "1h0m0s" + noSpan},
		{when, "polarization H is commanded outward at full rate until its upper final limit has " +
			"stopped it",
			noSwitches},
		{when, "the encoder of azimuth jumps by 0 deg",
			"0 deg is no jump; need an angle other than 0 deg, 360 deg at most"},
		{when, "the encoder of azimuth jumps by -361 deg",
			"-361 deg is no jump; need an angle other than 0 deg, 360 deg at most"},
		{when, "the encoder of azimuth drifts at 0 deg/s", "a drift needs a rate above 0 deg/s"},
		{given, "channel 9 of the emergency stop is welded closed",
			"the emergency stop has no channel 9; it has channels 1 and 2"},
		{given, "channel 0 of the emergency stop is welded closed",
			"the emergency stop has no channel 0; it has channels 1 and 2"},
		{given, "azimuth rests -1 deg inside its lower software limit",
			"-1 deg is no angle inboard; need 0 deg to 360 deg"},
		{given, "the limit switches, buffer and hard stop at the upper end of azimuth stand 361 deg " +
			"inboard of their configured positions",
			"361 deg is no angle inboard; need 0 deg to 360 deg"},
		{given, "the limit switches, buffer and hard stop at the upper end of polarization H stand " +
			"1 deg inboard of their configured positions",
			noSwitches},
		{given, "the upper pre-limit switch of polarization H is welded closed", noSwitches},
		{given, "the lower final-limit switch of polarization H is welded closed", noSwitches},
		{given, "brake 1 of polarization H is worn to half of its torque", noSwitches},
		{given, "brake 3 of azimuth is worn to half of its torque",
			"azimuth has no motor, drive or brake 3; it has 1 and 2"},
		{given, "an external torque of -3 kN m acts on azimuth towards its upper end",
			"a push needs a torque above 0 N m; the end it is towards tells its sense"},
		{then, "polarization H comes to rest inside its upper software limit", noSwitches},
		{then, "the brakes of polarization H are set within their brake time", noSwitches},
		{then, "the pre-limit is reported to the supervisory system within 0 s", "0s" + noSpan},
	} {
		_, errs := Parse("a.feature", []byte(strings.Replace(good, one.old, one.text, 1)))
		if len(errs) != 1 || !strings.HasSuffix(errs[0].Error(), ": "+one.want) {
			t.Errorf("%s:\n%s\nwant %s", one.text, messagesOf(errs), one.want)
		}
	}
}

// Faults by name that do nothing, or say one thing twice, mean another.
func TestParse_FaultsThatMeanNothing(t *testing.T) {
	const when = "the emergency stop is pressed"
	for _, one := range []struct{ text, want string }{
		{"the fault messages_lost begins on azimuth.encoder, with probability 0 %",
			"fault: messages_lost does nothing with probability 0.000; give it a strength or leave it out"},
		{"the fault delay begins on mast, with by 0 s, jitter 0 s", "fault: delay does nothing " +
			"with by 0.000 s, jitter 0.000 s; give it a strength or leave it out"},
		{"the fault encoder_offset begins on azimuth, with by 1 deg, by 2 deg",
			"by is given twice, as 1 deg and as 2 deg; give it once"},
		{"the fault encoder_drift begins on azimuth, with rate 1e300 deg/s",
			"fault: encoder_drift: rate: 1e300 deg/s is above 90 deg/s"},
	} {
		_, errs := Parse("a.feature", []byte(strings.Replace(good, when, one.text, 1)))
		if len(errs) != 1 || !strings.HasSuffix(errs[0].Error(), ": "+one.want) {
			t.Errorf("%s:\n%s\nwant %s", one.text, messagesOf(errs), one.want)
		}
	}
}

// An outline's sentence is wrong once, not once a row, and errors come in the
// order of their lines.
func TestParse_ErrorsOnceInFileOrder(t *testing.T) {
	text := `Feature: F
  Rule: R
    Scenario Outline: O
      Given <axis> rests nowhere
      When the emergency stop is pressed
      And drive 9 of azimuth trips
      Then azimuth stops within its category 1 time

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

    Scenario: D
      It has a description.
      When the emergency stop is pressed
`
	_, errs := Parse("a.feature", []byte(text))
	var lines []int
	for _, err := range errs {
		lines = append(lines, err.(*Error).Line)
	}
	want := []int{4, 4, 6, 14, 14} // line 4 says another thing in each row
	if len(lines) != len(want) {
		t.Fatalf("lines %v\n%s", lines, messagesOf(errs))
	}
	for i := range want {
		if lines[i] != want[i] {
			t.Fatalf("lines %v, want %v", lines, want)
		}
	}
}

// Gherkin finds a crooked table at its end and says it behind what it found there.
func TestParse_SyntaxInFileOrder(t *testing.T) {
	text := strings.Replace(good, "Scenario: P", "Scenario Outline: <p>", 1) +
		"      Examples:\n        | p |\n        | a\nb |\n"
	_, errs := Parse("a.feature", []byte(text))
	got := messagesOf(errs)
	first, second, _ := strings.Cut(got, "\n")
	if first != "a.feature:11: inconsistent cell count within the table" ||
		!strings.HasPrefix(second, `a.feature:12: "b |" does not belong here; a file has a Feature`) {
		t.Error(got)
	}
}
