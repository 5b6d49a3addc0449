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
