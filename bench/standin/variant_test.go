package standin

import (
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"haltmark/bench/clock"
	"haltmark/bench/link"
)

// variant is a controller with a defect, before its first cycle.
func variant(t *testing.T, d Defect) *Controller {
	t.Helper()
	v := clock.NewVirtual()
	t.Cleanup(v.Close)
	c, err := d.Start(v, link.NewMemory(v), testSettings(), testDevices())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// altered lists what of a controller differs from the one that ships: its rules and
// the steps of its axes by function, the figures by value.
func altered(c, shipped *Controller) []string {
	var found []string
	functions := func(what string, a, b reflect.Value) {
		if a.Pointer() != b.Pointer() {
			found = append(found, what)
		}
	}
	rules, others := reflect.ValueOf(c.rules), reflect.ValueOf(shipped.rules)
	for i := range rules.NumField() {
		functions(rules.Type().Field(i).Name, rules.Field(i), others.Field(i))
	}
	for p := range c.axes[0].steps {
		functions("steps", reflect.ValueOf(c.axes[0].steps[p]),
			reflect.ValueOf(shipped.axes[0].steps[p]))
	}
	c.set.Kept, shipped.set.Kept = nil, nil
	if c.set != shipped.set || c.thresholds != shipped.thresholds ||
		c.axes[0].limitShape != shipped.axes[0].limitShape ||
		c.wind.gustReadings != shipped.wind.gustReadings {
		found = append(found, "figures")
	}
	return found
}

func TestDefects_EachAltersTheController(t *testing.T) {
	if found := altered(variant(t, Defect{}), variant(t, Defect{})); found != nil {
		t.Errorf("without a defect: %v", found)
	}
	for _, d := range Defects() {
		if len(altered(variant(t, d), variant(t, Defect{}))) == 0 {
			t.Errorf("%s alters nothing", d.Name)
		}
	}
}

// The control law knows nothing of defects: what it is without them could be shipped.
func TestDefects_StandOutsideTheControlLaw(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	word := regexp.MustCompile(`(?i)defect|flaw|obstinate|seeded`)
	for _, name := range files {
		room := strings.HasPrefix(name, "defect")
		if room || strings.HasSuffix(name, "_test.go") || name == "doc.go" {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if at := word.FindIndex(text); at != nil {
			t.Errorf("%s:%d: says %q", name, 1+strings.Count(string(text[:at[0]]), "\n"),
				text[at[0]:at[1]])
		}
	}
}

// Where a defect has a rule decide as if inputs were others, they are put back.
func TestDefects_PretenceEndsWithTheDecision(t *testing.T) {
	c := ready(t)
	followsPanelAs(offLimits)(c)
	c.inputs.finalLimit[0][1], c.pastFinal[0][1] = true, true
	inputs, past := c.inputs, c.pastFinal
	c.rules.hand(checked)
	if c.inputs != inputs || c.pastFinal != past {
		t.Error("the inputs of the hand control stay altered")
	}
	acceptsAs(func(c *Controller) { c.inputs.mode = modeRemote })(c)
	c.inputs.mode = modeLocal
	if err := c.rules.accept(order{verb: VerbArm}, checked); err != nil {
		t.Errorf("refused all the same: %v", err)
	}
	if c.inputs.mode != modeLocal {
		t.Error("the inputs of a command stay altered")
	}
}

func TestFindDefect_ByName(t *testing.T) {
	if d, err := FindDefect(""); err != nil || d.wrap != nil {
		t.Errorf("no name: %v, %v", d.Name, err)
	}
	names := []string{Obstinate, "stop_600_ms_late"}
	for _, name := range names {
		if d, err := FindDefect(name); err != nil || d.Name != name {
			t.Errorf("%s: %v, %v", name, d.Name, err)
		}
	}
	if slices.ContainsFunc(Defects(), func(d Defect) bool { return d.wrap == nil }) {
		t.Error("a defect without a wrap")
	}
}
