package config

import (
	"errors"
	"testing"
)

// Whatever a sheet, a map or a file of requirements holds, loading ends with it or with
// problems.
func FuzzFixtures(f *testing.F) {
	for _, name := range []string{"drives/main-axis-motor.yaml", "drives/servo-unit.yaml",
		"maps/encoder-input-registers.yaml", "maps/drive-axis-side.yaml",
		"requirements/limits.yaml", "controllers/standin.yaml", "causes.yaml", "hazards.yaml"} {
		text, err := shipped(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add([]byte(text))
	}
	f.Add([]byte("waivers: [{requirement: HR-001, reason: later, expires: 2027-01-01}]\n"))
	f.Add([]byte("sheet: {}\n"))
	f.Add([]byte("points: [{quantity: speed, address: -1}]\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		of := func() *file { return &file{name: "fuzz.yaml", text: text} }
		r := &report{}
		readSheet(of(), "drive", r)
		readMap(of(), "", r)
		_ = r.err()
		path := write(t, t.TempDir(), "fuzz.yaml", string(text))
		for _, err := range []error{errorOf(LoadRequirements(path)), errorOf(LoadController(path)),
			errorOf(CheckRegister(path)), waivers(path)} {
			var problems Problems
			if err != nil && !errors.As(err, &problems) {
				t.Errorf("neither loaded nor problems: %v", err)
			}
		}
	})
}

func waivers(path string) error {
	_, _, err := LoadWaivers(path)
	return err
}
