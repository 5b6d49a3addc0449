package scenario

import (
	"bytes"
	"strings"
	"testing"

	gherkin "github.com/cucumber/gherkin/go/v42"
	messages "github.com/cucumber/messages/go/v34"
)

// alone checks that what is left of a feature is the one example, each sentence
// on its own line, by the parser that godog uses.
func alone(t *testing.T, e *Example, source []byte) {
	t.Helper()
	newID := (&messages.Incrementing{}).NewId
	doc, err := gherkin.ParseGherkinDocument(bytes.NewReader(e.source), newID)
	if err != nil {
		t.Fatalf("%s:%d: %v\n%s", e.Path, e.Line, err, e.source)
	}
	pickles := gherkin.Pickles(*doc, e.Path, newID)
	if len(pickles) != 1 {
		t.Fatalf("%s:%d: %d examples left", e.Path, e.Line, len(pickles))
	}
	p := pickles[0]
	if p.Name != e.Name || len(p.Steps) != len(e.Steps) || len(p.Tags) != len(e.Tags) {
		t.Fatalf("%s:%d: %q with %d sentences, want %q with %d", e.Path, e.Line, p.Name,
			len(p.Steps), e.Name, len(e.Steps))
	}
	lines := map[string]int{}
	for _, child := range doc.Feature.Children {
		for _, inner := range child.Rule.Children {
			for _, step := range inner.Scenario.Steps {
				lines[step.Id] = int(step.Location.Line)
			}
		}
	}
	for i, step := range p.Steps {
		if step.Text != e.Steps[i].Text || lines[step.AstNodeIds[0]] != e.Steps[i].Line {
			t.Errorf("%s:%d: %q at %d, want %q at %d", e.Path, e.Line, step.Text,
				lines[step.AstNodeIds[0]], e.Steps[i].Text, e.Steps[i].Line)
		}
	}
	was, left := bytes.Split(source, []byte("\n")), bytes.Split(e.source, []byte("\n"))
	if len(was) != len(left) {
		t.Fatalf("%d lines, were %d", len(left), len(was))
	}
	for n := range was {
		if len(left[n]) > 0 && !bytes.Equal(left[n], was[n]) {
			t.Errorf("line %d was changed to %q", n+1, left[n])
		}
	}
}

const several = `# a remark
@all
Feature: F

  Its words.

  @HR-001
  Rule: One

    @first
    Scenario: A
      When the emergency stop is pressed
      Then the reset is refused

    # another remark
    @second
    Scenario Outline: B <axis>
      Given <axis> rests in mid-travel
      When <axis> turns toward its <end> end at full rate
      Then the reset is refused

      @smoke
      Examples: some
        | axis    | end   |
        | azimuth | lower |
        | azimuth | upper |

      Examples:
        | end   | axis      |
        | lower | elevation |

  Rule: Two
    Scenario: A
      When the emergency stop is pressed
      Then the torque of every axis stays off
`

func TestOnly_LeavesOneExampleInItsPlace(t *testing.T) {
	for name, source := range map[string]string{
		"plain": several, "carriage returns": strings.ReplaceAll(several, "\n", "\r\n"),
		"no last newline": strings.TrimSuffix(several, "\n"),
	} {
		examples := sentencesOf(t, name, []byte(source))
		if len(examples) != 5 {
			t.Fatalf("%s: %d examples", name, len(examples))
		}
		for i := range examples {
			alone(t, &examples[i], []byte(source))
		}
		for i, want := range []struct {
			line      int
			name, row string
			tags      string
		}{
			{11, "A", "", "@all @HR-001 @first"},
			{25, "B azimuth", "azimuth, lower", "@all @HR-001 @second @smoke"},
			{26, "B azimuth", "azimuth, upper", "@all @HR-001 @second @smoke"},
			{30, "B elevation", "lower, elevation", "@all @HR-001 @second"},
			{33, "A", "", "@all"},
		} {
			e := examples[i]
			if e.Line != want.line || e.Name != want.name || e.Row != want.row ||
				strings.Join(e.Tags, " ") != want.tags {
				t.Errorf("%s: %d %q %q %v, want %+v", name, e.Line, e.Name, e.Row, e.Tags, want)
			}
		}
	}
}

func TestOnly_ShippedFeatures(t *testing.T) {
	for _, e := range shipped(t) {
		newID := (&messages.Incrementing{}).NewId
		doc, err := gherkin.ParseGherkinDocument(bytes.NewReader(e.source), newID)
		if err != nil || len(gherkin.Pickles(*doc, e.Path, newID)) != 1 {
			t.Errorf("%s:%d: %v", e.Path, e.Line, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(good))
	f.Add([]byte(several))
	f.Add([]byte(trials))
	f.Add([]byte("# language: de\nFunktionalität: F\n"))
	f.Fuzz(func(t *testing.T, source []byte) {
		examples, errs := Parse("f.feature", source)
		last := 0
		for _, err := range errs {
			at, ok := err.(*Error)
			// The end of the file stands one line after its last.
			if !ok || at.Line < max(1, last) || at.Line > bytes.Count(source, []byte("\n"))+2 {
				t.Fatalf("%v after line %d of %q", err, last, source)
			}
			last = at.Line
		}
		if len(errs) > 0 {
			return
		}
		for i := range examples {
			alone(t, &examples[i], source)
		}
	})
}
