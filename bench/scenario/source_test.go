package scenario

import (
	"bytes"
	"strings"
	"testing"

	gherkin "github.com/cucumber/gherkin/go/v42"
	messages "github.com/cucumber/messages/go/v34"
)

// alone checks that the source that godog is given is the one example, sentence by
// sentence, by the parser that godog uses.
func alone(t *testing.T, e *Example) {
	t.Helper()
	newID := (&messages.Incrementing{}).NewId
	doc, err := gherkin.ParseGherkinDocument(bytes.NewReader(e.source()), newID)
	if err != nil {
		t.Fatalf("%s:%d: %v\n%s", e.Path, e.Line, err, e.source())
	}
	pickles := gherkin.Pickles(*doc, e.Path, newID)
	if len(pickles) != 1 {
		t.Fatalf("%s:%d: %d examples", e.Path, e.Line, len(pickles))
	}
	if err := checkPickle(pickles[0], e); err != nil {
		t.Fatalf("%v\n%s", err, e.source())
	}
}

// A pickle that differs in one word is not taken for the example.
func TestCheckPickle_Refuses(t *testing.T) {
	e := sentencesOf(t, "a.feature", []byte(good))[0]
	for name, spoil := range map[string]func(*messages.Pickle){
		"name":     func(p *messages.Pickle) { p.Name += " twice" },
		"sentence": func(p *messages.Pickle) { p.Steps[1].Text += " twice" },
		"fewer":    func(p *messages.Pickle) { p.Steps = p.Steps[1:] },
		"more":     func(p *messages.Pickle) { p.Steps = append(p.Steps, p.Steps[0]) },
	} {
		newID := (&messages.Incrementing{}).NewId
		doc, err := gherkin.ParseGherkinDocument(bytes.NewReader(e.source()), newID)
		if err != nil {
			t.Fatal(err)
		}
		p := gherkin.Pickles(*doc, e.Path, newID)[0]
		if err := checkPickle(p, &e); err != nil {
			t.Fatal(err)
		}
		if spoil(p); checkPickle(p, &e) == nil {
			t.Errorf("%s: taken for the example", name)
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
      When <axis> moves towards its <end> end at full rate
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

func TestSource_IsOneExample(t *testing.T) {
	for name, source := range map[string]string{
		"plain": several, "carriage returns": strings.ReplaceAll(several, "\n", "\r\n"),
		"no last newline": strings.TrimSuffix(several, "\n"), "mark": "\ufeff" + several,
	} {
		examples := sentencesOf(t, name, []byte(source))
		if len(examples) != 5 {
			t.Fatalf("%s: %d examples", name, len(examples))
		}
		for i := range examples {
			alone(t, &examples[i])
		}
		for i, want := range []struct {
			line             int
			name, row, title string
			tags             string
		}{
			{11, "A", "", "A", "@all @HR-001 @first"},
			{25, "B azimuth", "azimuth, lower", "B azimuth (azimuth, lower)", "@all @HR-001 @second @smoke"},
			{26, "B azimuth", "azimuth, upper", "B azimuth (azimuth, upper)", "@all @HR-001 @second @smoke"},
			{30, "B elevation", "lower, elevation", "B elevation", "@all @HR-001 @second"},
			{33, "A", "", "A", "@all"},
		} {
			e := examples[i]
			if e.Line != want.line || e.Name != want.name || e.Row != want.row ||
				e.Title != want.title || strings.Join(e.Tags, " ") != want.tags {
				t.Errorf("%s: %d %q %q %q %v, want %+v", name, e.Line, e.Name, e.Row, e.Title,
					e.Tags, want)
			}
		}
	}
}

func TestSource_ShippedFeatures(t *testing.T) {
	for _, e := range shipped(t) {
		alone(t, &e)
	}
}

// No two shipped scenarios share rule and title; as yet their names alone tell them apart.
func TestTitle_ShippedScenariosAreTold(t *testing.T) {
	seen := map[[3]string]bool{}
	for _, e := range shipped(t) {
		key := [3]string{e.Path, e.Rule, e.Title}
		if seen[key] {
			t.Errorf("%s:%d: %q stands twice", e.Path, e.Line, e.Title)
		}
		seen[key] = true
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
			alone(t, &examples[i])
		}
	})
}
