package config

import (
	"bytes"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"haltmark/fixtures"
)

// demoText is the embedded demo station.
func demoText(t testing.TB) string {
	t.Helper()
	text, err := fixtures.Files.ReadFile("stations/demo.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// put writes a file, with its folders, and returns its path.
func put(t testing.TB, dir, name, text string) string {
	t.Helper()
	to := filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(to, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return to
}

// What never ends, or is longer than anything that a person writes, is not read.
func TestReadFile_OnlyRegularAndBounded(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "pipe.yaml")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	device := filepath.Join(dir, "device.yaml")
	if err := os.Symlink("/dev/zero", device); err != nil {
		t.Fatal(err)
	}
	long := put(t, dir, "long.yaml", "")
	if err := os.Truncate(long, FixtureLimit+1); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{pipe: "it is no regular file",
		device: "it is no regular file", dir: "it is no regular file",
		long:                      "it has more than 4194304 bytes",
		filepath.Join(dir, "not"): "no such file or directory"} {
		if _, err := ReadFile(name, FixtureLimit); err == nil || Reason(err) != want {
			t.Errorf("%s: %v; want %s", name, err, want)
		}
		if _, err := LoadStation(name); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("station %s: %v; want %s", name, err, want)
		}
	}
	full := put(t, dir, "full.yaml", strings.Repeat("#", FixtureLimit))
	if text, err := ReadFile(full, FixtureLimit); err != nil || len(text) != FixtureLimit {
		t.Errorf("%d bytes, %v; want all of them", len(text), err)
	}
}

// A file that grows while it is read is not read for ever.
func TestReadAll_Grown(t *testing.T) {
	f, err := os.Open(put(t, t.TempDir(), "grown", strings.Repeat("x", 101)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := readAll(f, 100); err == nil || Reason(err) != "it has more than 100 bytes" {
		t.Errorf("%v; want an error", err)
	}
}

func TestReadJSON_Strict(t *testing.T) {
	for text, want := range map[string]string{
		`{"a": 1}`: "", "\ufeff{\"a\": 1}\n": "", `{"b": 1}`: `unknown field "b"`,
		`{"a": 1} {}`: "something stands behind its end", `{"a": 1`: "unexpected EOF",
		`{"a": 1e99}`: "cannot unmarshal number 1e99",
	} {
		var form struct {
			A int `json:"a"`
		}
		err := ReadJSON(put(t, t.TempDir(), "a.json", text), JSONLimit, &form)
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; want %q", text, err, want)
		}
	}
}

// A byte-order mark changes nothing, in a file or in one that it names.
func TestLoad_ByteOrderMark(t *testing.T) {
	dir := t.TempDir()
	sheet, err := fixtures.Files.ReadFile("drives/main-axis-motor.yaml")
	if err != nil {
		t.Fatal(err)
	}
	put(t, dir, "main-axis-motor.yaml", "\ufeff"+string(sheet))
	name := put(t, dir, "demo.yaml", "\ufeff"+demoText(t))
	if _, err := LoadStation(name); err != nil {
		t.Error(err)
	}
	if kind, err := KindOf(name); kind != KindStation || err != nil {
		t.Errorf("%s, %v; want a station", kind, err)
	}
}

// A station's references stay in its folder, and nothing of what lies outside is shown.
func TestLoadStation_ReferencesStayInTheFolder(t *testing.T) {
	const secret = "the_secret_of_another"
	outer := t.TempDir()
	outside := put(t, outer, "outside.yaml", secret+": {a: b}\n- "+secret+"\n")
	dir := filepath.Join(outer, "station")
	for _, reference := range []string{outside, "../outside.yaml", "../outside", "below/../../outside",
		"link", "linked/outside.yaml", "../station/../outside", "/etc/passwd"} {
		text := strings.Replace(demoText(t), "map: encoder-input-registers", "map: "+reference, 1)
		name := put(t, dir, "station.yaml", text)
		_ = os.Symlink(outside, filepath.Join(dir, "link.yaml")) // the second time it is there
		_ = os.Symlink(outer, filepath.Join(dir, "linked"))
		_, err := LoadStation(name)
		if err == nil {
			t.Errorf("%s: was read", reference)
			continue
		}
		line := 1 + strings.Count(text[:strings.Index(text, "map: "+reference)], "\n")
		want := name + ":" + strconv.Itoa(line) + ": encoders.azimuth.map names "
		if !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), secret) {
			t.Errorf("%s:\n%v\nwant %s and no word of the file", reference, err, want)
		}
	}
}

// Two maps of one name in two folders below the station stand apart in its files.
func TestStation_FilesHavePlacesOfTheirOwn(t *testing.T) {
	encoder, err := fixtures.Files.ReadFile("maps/encoder-input-registers.yaml")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	text := strings.Replace(demoText(t), "map: encoder-input-registers", "map: a/encoder", 1)
	text = strings.Replace(text, "map: encoder-input-registers", "map: ./b/../b/encoder.yaml", 1)
	name := put(t, dir, "station.yaml", text)
	put(t, dir, "a/encoder.yaml", string(encoder))
	put(t, dir, "b/encoder.yaml", string(encoder)+"# another\n")
	s, err := LoadStation(name)
	if err != nil {
		t.Fatal(err)
	}
	places := map[string]string{}
	for _, f := range s.Files() {
		if places[f.Place] != "" || !filepath.IsLocal(filepath.FromSlash(f.Place)) {
			t.Errorf("%s stands twice, or elsewhere", f.Place)
		}
		places[f.Place] = f.Text
	}
	if places["a/encoder.yaml"] != string(encoder) || places["station.yaml"] != text ||
		!strings.HasSuffix(places["b/encoder.yaml"], "# another\n") {
		t.Errorf("places %v", places)
	}
}

// The copies of a run lie beside each other: no two embedded files that a station may
// name, nor a station, share a name.
func TestEmbedded_NamesAreOfOneFile(t *testing.T) {
	seen := map[string]string{}
	for _, kind := range []string{kindStation, kindSheet, kindMap} {
		for _, name := range Embedded(kind) {
			if seen[name] != "" {
				t.Errorf("%s is among %s and %s", name, seen[name], kind)
			}
			seen[name] = kind
		}
	}
	if len(seen) < 10 {
		t.Errorf("only %d files", len(seen))
	}
}

// Very many keys, or sections within sections, cost no more than their reading.
func TestDecode_Bounded(t *testing.T) {
	var many bytes.Buffer
	for i := range 20_000 {
		many.WriteString("k" + strconv.Itoa(i) + ": 1\n")
	}
	for name, row := range map[string]struct {
		text, want string
	}{
		"keys": {demoText(t) + many.String(), "is a set of keys of more than 1000"},
		"section": {demoText(t) + "more:\n  " + strings.ReplaceAll(many.String(), "\nk", "\n  k"),
			"is a set of keys of more than 1000"},
		"depth": {"station: " + strings.Repeat("[", 9000) + strings.Repeat("]", 9000) + "\n",
			"lies in more than 20 others"},
	} {
		_, err := LoadStation(put(t, t.TempDir(), "a.yaml", row.text))
		if err == nil || !strings.Contains(err.Error(), row.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %.300v; want one line with %q", name, err, row.want)
		}
	}
}
