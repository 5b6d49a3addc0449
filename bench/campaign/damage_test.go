package campaign

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"haltmark/bench/evidence"
	"haltmark/bench/record"
	"haltmark/bench/seed"
	"haltmark/bench/station"
	"haltmark/fixtures"
)

// ended is the folder of a run of one scenario in two phases, on a station in a folder of
// its own whose maps of one name lie in two folders below it.
func ended(t testing.TB) *evidence.Folder {
	t.Helper()
	a, err := Assemble(Choice{Station: ownStation(t), Controller: "standin",
		Tags: "@smoke && @HR-001"})
	check(t, err)
	p := a.Plan(seed.Seed(1), 12, station.DefaultStep, 1)
	m := a.Manifest(p)
	m.Command, m.Date = "gate", "2027-01-01"
	p.Folder, err = evidence.Create(t.TempDir(), m, evidence.Host{})
	check(t, err)
	check(t, a.CopyFiles(p.Folder.Path()))
	p.Done = func(done *Case) error {
		one := p.Evidence(done)
		return p.Folder.FinishCase(&one)
	}
	_, err = p.Do()
	check(t, err)
	return p.Folder
}

func ownStation(t testing.TB) string {
	t.Helper()
	text, err := fixtures.Files.ReadFile("stations/demo.yaml")
	check(t, err)
	encoder, err := fixtures.Files.ReadFile("maps/encoder-input-registers.yaml")
	check(t, err)
	own := string(text)
	dir := t.TempDir()
	for _, name := range []string{"a", "b"} {
		own = strings.Replace(own, "map: encoder-input-registers", "map: "+name+"/encoder.yaml", 1)
		check(t, os.Mkdir(filepath.Join(dir, name), 0o755))
		check(t, os.WriteFile(filepath.Join(dir, name, "encoder.yaml"),
			[]byte(string(encoder)+"# "+name+"\n"), 0o644))
	}
	name := filepath.Join(dir, "own[1]") // neither an extension nor what a pattern takes for itself
	check(t, os.WriteFile(name, []byte(own), 0o644))
	return name
}

func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// A folder is judged by what was copied into it, wherever the station's files have gone.
func TestAgain_ByTheCopiesAlone(t *testing.T) {
	folder := ended(t)
	_, run, err := Rejudge(folder.Path())
	check(t, err)
	if len(run.Cases) != 1 || run.Cases[0].Unended {
		t.Errorf("cases %+v", run.Cases)
	}
	for _, name := range []string{"a", "b"} {
		text, err := os.ReadFile(filepath.Join(folder.Path(), stationCopies, name, "encoder.yaml"))
		check(t, err)
		if !strings.HasSuffix(string(text), "# "+name+"\n") {
			t.Errorf("%s/encoder.yaml is another's", name)
		}
	}
	pattern := filepath.Join(t.TempDir(), "run[1]*")
	check(t, os.Rename(folder.Path(), pattern))
	if _, run, err = Rejudge(pattern); err != nil || len(run.Cases) != 1 || run.Cases[0].Unended {
		t.Errorf("in a folder named as a pattern: %v", err)
	}
}

// Whatever a hand has put into the files of a folder is refused or judged, and nothing
// breaks.
func TestAgain_EditedByHand(t *testing.T) {
	folder := ended(t)
	names, err := filepath.Glob(filepath.Join(folder.Path(), "scenarios", "*", "case.json"))
	check(t, err)
	names = append(names, filepath.Join(folder.Path(), "manifest.json"))
	if len(names) != 2 {
		t.Fatalf("files %v", names)
	}
	draw := seed.Seed(1).Stream("edits")
	for _, name := range names {
		whole, err := os.ReadFile(name)
		check(t, err)
		refused := 0
		for range 80 {
			var form any
			check(t, json.Unmarshal(whole, &form))
			leaves := leavesOf(&form, nil)
			values := []any{nil, -1, 1e308, 0.5, 99999999, "", "nan", "-inf", "x", true, []any{},
				map[string]any{}, map[string]any{"more": 1}}
			at := leaves[draw.IntN(len(leaves))]
			value := values[draw.IntN(len(values))]
			at(value)
			text, err := json.Marshal(form)
			check(t, err)
			check(t, os.WriteFile(name, text, 0o644))
			_, _, err = Rejudge(folder.Path())
			var bad BadInput
			if err != nil && !errors.As(err, &bad) {
				t.Fatalf("%v in place of one value: %v; want a BadInput", value, err)
			}
			if err != nil {
				refused++
			}
		}
		if refused < 25 {
			t.Errorf("%s: only %d of 80 edits were refused", filepath.Base(name), refused)
		}
		check(t, os.WriteFile(name, whole, 0o644))
	}
}

// leavesOf lists a setter of every value of a JSON document, in a fixed order.
func leavesOf(v *any, all []func(any)) []func(any) {
	switch inner := (*v).(type) {
	case map[string]any:
		var keys []string
		for key := range inner {
			keys = append(keys, key)
		}
		slices.Sort(keys)
		for _, key := range keys {
			one := inner[key]
			before := len(all)
			if all = leavesOf(&one, all); len(all) == before+1 {
				all[before] = func(value any) { inner[key] = value }
			}
		}
	case []any:
		for i := range inner {
			before := len(all)
			if all = leavesOf(&inner[i], all); len(all) == before+1 {
				all[before] = func(value any) { inner[i] = value }
			}
		}
	default:
		return append(all, func(value any) { *v = value })
	}
	return all
}

// Numbers that would lead out of the lists of a case, or make it pass, are told by file.
func TestAgain_NumbersOfNoRun(t *testing.T) {
	folder := ended(t)
	names, err := filepath.Glob(filepath.Join(folder.Path(), "scenarios", "*", "case.json"))
	check(t, err)
	whole, err := os.ReadFile(names[0])
	check(t, err)
	for _, row := range []struct{ old, now, want string }{
		{"\n  \"worst_phase\": ", "\n  \"worst_phase\": 9", "worst_phase 9"},
		{`"worst_phase": `, `"worst_phase": 9`, "worst phase 9"},
		{`"model": `, `"model": -1`, "uncertainties"},
		{`"at_s": `, `"at_s": 1e300, "from_s": 0, "at_s": `, "is no time of a run"},
		{`"comparison": "`, `"comparison": "nearly_`, "comparison \"nearly_"},
		{`"number": 1`, `"number": 1e99`, "cannot unmarshal number 1e99"},
		{`{`, `{"more": 1, `, "unknown field \"more\""},
		{"\n}\n", "\n}\n{}", "something stands behind its end"},
	} {
		text := strings.Replace(string(whole), row.old, row.now, 1)
		check(t, os.WriteFile(names[0], []byte(text), 0o644))
		_, _, err := Rejudge(folder.Path())
		var bad BadInput
		if !errors.As(err, &bad) || !strings.Contains(err.Error(), row.want) ||
			!strings.Contains(err.Error(), "case.json") {
			t.Errorf("%s: %v; want a BadInput with %q and the file", row.now, err, row.want)
		}
	}
}

// A case that tells less, better or other than its records is named, whoever made it.
func TestAgain_TheRecordsDecide(t *testing.T) {
	folder := ended(t)
	names, err := filepath.Glob(filepath.Join(folder.Path(), "scenarios", "*", "case.json"))
	check(t, err)
	whole, err := os.ReadFile(names[0])
	check(t, err)
	for want, edit := range falseTales() {
		var form map[string]any
		check(t, json.Unmarshal(whole, &form))
		edit(form, form["measurements"].([]any))
		text, err := json.Marshal(form)
		check(t, err)
		check(t, os.WriteFile(names[0], text, 0o644))
		_, _, err = Rejudge(folder.Path())
		var bad BadInput
		if !errors.As(err, &bad) || !strings.Contains(err.Error(), want) {
			t.Errorf("%v; want a BadInput with %q", err, want)
		}
	}
}

// falseTales are edits of a case and its measurements, by what each is answered with.
func falseTales() map[string]func(form map[string]any, outcomes []any) {
	dropped := func(what string, value any) func(map[string]any, []any) {
		return func(form map[string]any, _ []any) { edited(form, false, what, value) }
	}
	return map[string]func(form map[string]any, outcomes []any){
		"tells nothing of HR-": func(form map[string]any, outcomes []any) {
			form["measurements"] = outcomes[1:]
			for _, one := range form["phases"].([]any) {
				delete(one.(map[string]any), "figures")
			}
		},
		"the value 0.001, its records": func(_ map[string]any, outcomes []any) {
			outcomes[0].(map[string]any)["value"] = 0.001
		},
		"stands twice": func(form map[string]any, outcomes []any) {
			form["measurements"] = append(outcomes, outcomes[0])
		},
		"says inconclusive, its records pass": func(form map[string]any, _ []any) {
			form["verdict"] = "inconclusive"
		},
		"says inconclusive, its record pass": func(form map[string]any, _ []any) {
			edited(form, true, "verdict", "inconclusive")
		},
		"the seed of phase":  dropped("seed", "7"),
		"the shift of phase": dropped("shift_s", 0.001),
		"are not those of its feature": func(form map[string]any, _ []any) {
			form["sentences"] = form["sentences"].([]any)[1:]
		},
		"its records pass: ": func(form map[string]any, _ []any) {
			form["sentences"].([]any)[2].(map[string]any)["verdict"] = "fail"
		},
		"the figures in case.json are not those of its record": func(form map[string]any, _ []any) {
			edited(form, true, "value", 0.001)
		},
		"did not pass, and its record is not kept": dropped("verdict", "not testable"),
		"by its figure": dropped("margin", -0.001),
		"case.json does not tell of it": func(form map[string]any, _ []any) {
			edited(form, true, "kept", false)
		},
	}
}

// edited puts a value into the phases that are kept, or into those that are not, or into
// their first figures.
func edited(form map[string]any, kept bool, what string, value any) {
	for _, one := range form["phases"].([]any) {
		phase := one.(map[string]any)
		if phase["kept"] != kept {
			continue
		}
		if _, own := phase[what]; !own {
			phase = phase["figures"].([]any)[0].(map[string]any)
		}
		phase[what] = value
	}
}

// A plan of no phases would be a scenario that nothing shows.
func TestAgain_NoPhasesPlanned(t *testing.T) {
	folder := ended(t)
	name := filepath.Join(folder.Path(), "manifest.json")
	whole, err := os.ReadFile(name)
	check(t, err)
	text := strings.Replace(string(whole), "      \"phases\": 12", "      \"phases\": 0", 1)
	if text == string(whole) {
		t.Fatal("the manifest plans no scenario in 2 phases")
	}
	check(t, os.WriteFile(name, []byte(text), 0o644))
	var bad BadInput
	if _, _, err = Rejudge(folder.Path()); !errors.As(err, &bad) ||
		!strings.Contains(err.Error(), "its phases are none") {
		t.Errorf("%v", err)
	}
}

// A register map without what the stand-in reads is found before anything runs.
func TestAssemble_MapThatTheStandInCannotUse(t *testing.T) {
	name := ownStation(t)
	station, err := os.ReadFile(name)
	check(t, err)
	text, err := fixtures.Files.ReadFile("maps/interlock-bits.yaml")
	check(t, err)
	var without []string
	for line := range strings.Lines(string(text)) {
		if !strings.Contains(line, "quantity: hatch,") {
			without = append(without, line)
		}
	}
	check(t, os.WriteFile(filepath.Join(filepath.Dir(name), "bare.yaml"),
		[]byte(strings.Join(without, "")), 0o644))
	check(t, os.WriteFile(name, []byte(strings.Replace(string(station), "map: interlock-bits",
		"map: bare.yaml", 1)), 0o644))
	_, err = Assemble(Choice{Station: name, Controller: "standin", Tags: "@smoke"})
	want := name + `: standin: interlock: registers: map interlock-bits has no quantity "hatch"; ` +
		"the stand-in needs it, add it to the map"
	if err == nil || err.Error() != want {
		t.Errorf("%v\nwant %s", err, want)
	}
}

// What lies in a folder beside what its run left, or is missing from it, is named.
func TestAgain_StraysAndGaps(t *testing.T) {
	phase := func(dir string) string {
		found, err := filepath.Glob(filepath.Join(dir, "scenarios", "*", "phase-*"))
		check(t, err)
		return found[0]
	}
	for want, change := range map[string]func(dir string) error{
		"its copy of fixtures/requirements/brakes.yaml is missing": func(dir string) error {
			return os.Remove(filepath.Join(dir, requirementCopies, "02-brakes.yaml"))
		},
		"waivers.yaml: is not a file that the run used": func(dir string) error {
			return os.WriteFile(filepath.Join(dir, waiverCopies), []byte("waivers:\n"), 0o644)
		},
		"its copy of features/limits.feature is missing": func(dir string) error {
			return os.Rename(filepath.Join(dir, featureCopies), filepath.Join(dir, "features"))
		},
		"099-x: is not of this run": func(dir string) error {
			return os.Mkdir(filepath.Join(dir, "scenarios", "099-x"), 0o755)
		},
		"junk: is no part of a record": func(dir string) error {
			return os.WriteFile(filepath.Join(phase(dir), "junk"), nil, 0o644)
		},
	} {
		folder := ended(t)
		check(t, change(folder.Path()))
		var bad BadInput
		if _, _, err := Rejudge(folder.Path()); !errors.As(err, &bad) ||
			!strings.Contains(err.Error(), want) {
			t.Errorf("%v; want a BadInput with %q", err, want)
		}
	}
}

// A record of another scenario, or of another plant step, is not that of a case.
func TestOfItsCase(t *testing.T) {
	c := &evidence.Case{Sentences: []evidence.Sentence{{Keyword: "Given", Text: "it rests"},
		{Keyword: "When", Text: "it moves"}, {Keyword: "When", Text: "it is stopped"},
		{Keyword: "Then", Text: "it stops"}}}
	says := func(steps int64, texts ...string) *record.Record {
		r := &record.Record{Edges: []record.Edge{{Channel: "bench.step", Value: steps}}}
		for _, text := range texts {
			r.Marks = append(r.Marks, record.Mark{Kind: record.Step, Name: "When", Text: text},
				record.Mark{Kind: record.Step, Name: "something else", Text: "of its own"})
		}
		return r
	}
	j := &judge{step: 250}
	for want, rec := range map[string]*record.Record{
		"whole": says(250, "it is stopped", "it stops"), "so far": says(250, "it is stopped"),
	} {
		if err := j.ofItsCase(c, rec); err != nil {
			t.Errorf("%s: %v", want, err)
		}
	}
	for want, rec := range map[string]*record.Record{
		`says "it stops"`:    says(250, "it stops"),
		`says "it goes on"`:  says(250, "it is stopped", "it stops", "it goes on"),
		"at a plant step of": says(500, "it is stopped"),
	} {
		if err := j.ofItsCase(c, rec); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v; want %q", err, want)
		}
	}
}
