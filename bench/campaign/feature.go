package campaign

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"haltmark/bench/config"
	"haltmark/bench/scenario"
	"haltmark/bench/verdict"
	"haltmark/features"
)

const featureExtension = ".feature"

// EmbeddedFeatures lists the names of the embedded features, in order.
func EmbeddedFeatures() []string {
	entries, err := features.Files.ReadDir(".")
	if err != nil {
		return nil
	}
	var names []string
	for _, entry := range entries {
		names = append(names, strings.TrimSuffix(entry.Name(), featureExtension))
	}
	return names
}

// readFeature finds a feature: a bare name is an embedded one, a separator or an
// extension makes it a file.
func readFeature(name string) (path string, text []byte, err error) {
	if strings.ContainsAny(name, `/\`) || filepath.Ext(name) != "" {
		if text, err = config.ReadFile(name, config.FeatureLimit); err != nil {
			return "", nil, fmt.Errorf("%s: cannot be read; %s", filepath.ToSlash(name),
				config.Reason(err))
		}
		return filepath.ToSlash(name), text, nil
	}
	if text, err = features.Files.ReadFile(name + featureExtension); err != nil {
		return "", nil, fmt.Errorf("%s: no such embedded feature; use one of %s or a file's path",
			name, strings.Join(EmbeddedFeatures(), ", "))
	}
	return "features/" + name + featureExtension, text, nil
}

// examplesOf parses a feature and, where its sentences are all known, holds every
// Then against the requirements and the tags of its Rule.
func examplesOf(
	path string, text []byte, all []verdict.Requirement, tables []scenario.Table,
) ([]scenario.Example, []error) {
	examples, errs := scenario.Parse(path, text, tables...)
	if len(errs) > 0 || all == nil {
		return examples, errs
	}
	for i := range examples {
		errs = append(errs, examples[i].Unanswered(all)...)
	}
	errs = append(errs, scenario.Unasked(examples, all)...)
	if len(examples) == 0 {
		errs = append(errs, &scenario.Error{Path: path, Line: 1, What: "the feature holds no scenario"})
	}
	return examples, withoutRepeats(errs)
}

// CheckFeature checks a feature against the embedded requirements.
func CheckFeature(name string) error {
	path, text, err := readFeature(name)
	if err != nil {
		return err
	}
	set, err := config.LoadRequirements()
	if err != nil {
		return err
	}
	_, errs := examplesOf(path, text, set.All, scenario.Tables(set.Strikes, false))
	return errors.Join(errs...)
}

// withoutRepeats leaves one of each message: an outline's sentence is wrong in
// each of its rows.
func withoutRepeats(errs []error) []error {
	var kept []error
	seen := map[string]bool{}
	for _, err := range errs {
		if !seen[err.Error()] {
			seen[err.Error()] = true
			kept = append(kept, err)
		}
	}
	return kept
}
