package campaign

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/cucumber/godog"
)

// The outside is godog itself, which runs the scenarios that its own filter keeps.
func TestTags_SelectAsGodogDoes(t *testing.T) {
	sets := []string{"", "@a", "@b", "@c", "@a @b", "@a @c", "@b @c", "@a @b @c"}
	var text strings.Builder
	text.WriteString("Feature: A\n")
	for i, tags := range sets {
		fmt.Fprintf(&text, "  %s\n  Scenario: %d\n    Given a\n", tags, i)
	}
	for _, selection := range []string{"", "@a", "~@a", "@a,@b", "@a && @b", "@a && ~@b",
		"~@a && ~@b", "@a,@b && @c", "@a && ~@b,@c", "~@c,~@a"} {
		var want []string
		suite := godog.TestSuite{
			Options: &godog.Options{Tags: selection, Format: "progress", Output: io.Discard,
				FeatureContents: []godog.Feature{{Name: "a.feature", Contents: []byte(text.String())}}},
			ScenarioInitializer: func(sc *godog.ScenarioContext) {
				sc.Step(`^a$`, func() {})
				sc.Before(func(ctx context.Context, s *godog.Scenario) (context.Context, error) {
					want = append(want, s.Name)
					return ctx, nil
				})
			},
		}
		suite.Run()
		tags, err := ParseTags(selection)
		if err != nil {
			t.Errorf("%q: %v", selection, err)
		}
		var got []string
		for i, set := range sets {
			if tags.Select(strings.Fields(set)) {
				got = append(got, fmt.Sprint(i))
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%q selects %v; godog %v", selection, got, want)
		}
	}
}

func TestParseTags_RefusesWhatIsNoSelection(t *testing.T) {
	for _, text := range []string{"a", "@", "@a @b", "@a or @b", "not @a", "@a &&", "@a,,@b", "~~@a",
		"@a & @b", "(@a)&&@b x"} {
		if tags, err := ParseTags(text); err == nil {
			t.Errorf("%q was read as %v", text, tags)
		}
	}
}

// A selection that is read selects something or something else, and leaves nothing
// without tags out that asks for none.
func FuzzTags(f *testing.F) {
	for _, text := range []string{"@a && ~@b,@c", "~@a", "", "@", "@a@b", ",", "@a &&"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		tags, err := ParseTags(text)
		if err != nil {
			return
		}
		positive := false
		for _, clause := range tags {
			all := true
			for _, term := range clause {
				all = all && term.not
			}
			positive = positive || all
		}
		if got := tags.Select(nil); got != (positive || len(tags) == 0) {
			t.Errorf("%q selects an example without tags: %v", text, got)
		}
	})
}
