package scenario

import (
	"slices"
	"strings"
	"testing"

	"haltmark/bench/config"
	"haltmark/bench/plant"
)

func strikes(t *testing.T) []config.Strike {
	t.Helper()
	set, err := config.LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	return set.Strikes
}

// What is chosen has every pair that can be: of cause and activity, of each with an axis and
// its direction. No cell that cannot be is chosen, and each such says why.
func TestStopMatrix_ChoosesEveryPair(t *testing.T) {
	type pair struct{ a, b any }
	pairs := func(c *Cell) []pair {
		place := [2]int{int(c.Axis), c.End}
		return []pair{{c.Strike.Say, c.Activity.Words}, {c.Strike.Say, place}, {c.Activity.Words, place}}
	}
	possible, chosen := map[pair]bool{}, map[pair]bool{}
	cells := StopMatrix(strikes(t))
	if want := len(strikes(t)) * len(Activities()) * plant.AxisCount * 2; len(cells) != want {
		t.Errorf("%d cells, want %d", len(cells), want)
	}
	picked := 0
	for i := range cells {
		c := &cells[i]
		if c.Chosen && c.Lacks != "" {
			t.Errorf("%s is chosen, and cannot be: %s", c.Name(), c.Lacks)
		}
		for _, p := range pairs(c) {
			possible[p] = possible[p] || c.Lacks == ""
			chosen[p] = chosen[p] || c.Chosen
		}
		if c.Chosen {
			picked++
		}
	}
	for p, can := range possible {
		if can != chosen[p] {
			t.Errorf("%v: possible %v, chosen %v", p, can, chosen[p])
		}
	}
	if picked > len(cells)/4 {
		t.Errorf("%d of %d cells are chosen; that is no choice", picked, len(cells))
	}
}

// Every stop cause that a bench event marks is in the matrix or says why not, and each comes
// in at least one activity.
func TestStopMatrix_HasEveryCause(t *testing.T) {
	set, err := config.LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	comes := map[string]bool{}
	for _, u := range set.Untried {
		comes[u.Cause] = true
	}
	for _, c := range StopMatrix(set.Strikes) {
		comes[c.Strike.Cause] = comes[c.Strike.Cause] || c.Chosen
	}
	for _, c := range set.Causes {
		if _, stops := set.Causes.Stop(c.Name); stops && !comes[c.Name] {
			t.Errorf("%s is nowhere in the stop matrix", c.Name)
		}
	}
}

// With all cells the tables have every cell that can be, once, and each of its sentences is
// one of the phrase table.
func TestTables_FullHasEveryCell(t *testing.T) {
	possible := 0
	for _, c := range StopMatrix(strikes(t)) {
		if c.Lacks == "" {
			possible++
		}
	}
	seen := map[string]bool{}
	rows := 0
	for _, table := range Tables(strikes(t), true)[:3] {
		for _, row := range table.Rows {
			rows++
			v := row.Values
			name := v["stop cause"] + v["axis"] + v["end"] + v["activity"]
			if seen[name] || !slices.Contains(row.Tags, MatrixTag) || len(row.Tags) < 2 {
				t.Errorf("twice, or without its tags: %v", row)
			}
			seen[name] = true
			for _, text := range []string{v["stop cause"], v["second cause"],
				v["axis"] + " is " + v["activity"] + " towards its " + v["end"] + " end"} {
				if _, _, err := match(When, text); err != nil {
					t.Errorf("%v", err)
				}
			}
		}
	}
	if rows != possible {
		t.Errorf("%d rows of %d cells", rows, possible)
	}
}

// Examples that have a header alone get the rows of the table of their name, in its order.
func TestParse_FillsExamplesFromATable(t *testing.T) {
	outline := strings.Replace(good, "Scenario: S", "Scenario Outline: S of <axis>", 1) +
		"\n      Examples: axes\n        | axis |\n"
	table := Table{Name: "axes", Rows: []Row{
		{Values: map[string]string{"axis": "azimuth"}, Tags: []string{"@one"}},
		{Values: map[string]string{"axis": "elevation"}},
	}}
	examples, errs := Parse("a.feature", []byte(outline), table)
	if len(errs) > 0 || len(examples) != 2 {
		t.Fatalf("%d examples, %v", len(examples), errs)
	}
	if examples[0].Row != "azimuth" || examples[1].Row != "elevation" ||
		!slices.Contains(examples[0].Tags, "@one") || slices.Contains(examples[1].Tags, "@one") {
		t.Errorf("%+v", examples)
	}
	for _, wrong := range []struct {
		text string
		want string
		with []Table
	}{
		{outline, "has Examples without a row", nil},
		{strings.Replace(outline, "| axis |", "| axes |", 1), `axes has no column "axes"; it has [axis]`,
			[]Table{table}},
	} {
		_, errs := Parse("a.feature", []byte(wrong.text), wrong.with...)
		if got := messagesOf(errs); !strings.Contains(got, wrong.want) {
			t.Errorf("%q, want %q", got, wrong.want)
		}
	}
}

// An activity that an axis cannot have is refused before anything runs.
func TestActivity_RefusesWhatAnAxisCannotDo(t *testing.T) {
	for text, want := range map[string]string{
		"polarization H is moving under hand control out of its final limit towards its upper end": "" +
			"neither brakes",
		"azimuth is moving to its stow attitude towards its upper end":   "elevation alone",
		"elevation is moving to its stow attitude towards its lower end": "from below",
	} {
		if _, _, err := match(When, text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}
