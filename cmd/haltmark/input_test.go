package main_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
)

const feature = `Feature: A try
  @HR-001
  Rule: One
    Scenario: Once
      Given azimuth rests 8 deg inside its upper software limit
      When azimuth is commanded outward at full rate
      Then azimuth comes to rest inside its upper software limit
`

// Each kind of bad input ends with exit code 3 and one clear line for each thing
// wrong, with file and line where there is one, before a run folder is made.
func TestBadInput_ExitsThree(t *testing.T) {
	for _, row := range slices.Concat(badFlags(), badFiles(t), badForms(t)) {
		t.Run(row.args, func(t *testing.T) {
			t.Parallel()
			out := filepath.Join(t.TempDir(), "runs")
			args := strings.Fields(row.args)
			if args[0] == "gate" || args[0] == "run" {
				args = append(args, "--out", out)
			}
			_, stderr, code := haltmark(t, args...)
			if code != 3 {
				t.Errorf("exit code %d; want 3", code)
			}
			first, _, _ := strings.Cut(stderr, "\n")
			if !strings.Contains(first, row.want) {
				t.Errorf("said %q; want %q in it", first, row.want)
			}
			if _, err := os.Stat(out); err == nil {
				t.Error("a run folder was made")
			}
		})
	}
}

// badInput is a command line and what the first line about it says.
type badInput struct{ args, want string }

func badFlags() []badInput {
	return []badInput{
		{"gate --station nowhere", "nowhere: no such embedded file"},
		{"gate --controller nobody", "nobody: no such embedded file"},
		{"gate --defect sleepy", "--defect sleepy: the stand-in has no such defect"},
		{"gate --tags @nothing", `--tags "@nothing" selects none of`},
		{"gate --tags smoke", `--tags smoke: "smoke" is no term`},
		{"gate --tags @a||@b", `"@a||@b" is no term`},
		{"gate --seed many", "--seed: "},
		{"gate --step 0.3ms", "--step: "},
		{"gate --step 0.25", "--step: "},
		{"gate --phases 0", "--phases 0: need 1 to 1000"},
		{"gate --jobs=-1", "--jobs -1: need 1 or more"},
		{"gate --clock wall --jobs 2", "--jobs 2: one scenario at a time"},
		{"gate --clock sundial", "--clock must be one of"},
		{"gate --date tomorrow", "--date tomorrow: no day"},
		{"gate --waivers nowhere.yaml", "nowhere.yaml: cannot be read"},
		{"gate --loud", "unknown flag --loud"},
		{"gate stray", "unexpected argument stray"},
		{"run", `expected "<features> ..."`},
		{"run nothing", "nothing: no such embedded feature"},
		{"run nowhere.feature", "nowhere.feature: cannot be read"},
		{"judge .", "not a run folder"},
		{"check nothing", "nothing: no such embedded fixture"},
		{"check main.go", "main.go:"},
		{"standin --devices nowhere.json", "--devices nowhere.json: cannot be read"},
		{"standin", "missing flags: --devices"},
		{"serve --station nowhere", "nowhere: no such embedded file"},
		{"serve --step 1ms", "--step: "},
		{"dance", "unexpected argument dance"},
	}
}

func badFiles(t *testing.T) []badInput {
	phrase := write(t, "phrase.feature", strings.Replace(feature, "rests 8 deg", "sleeps 8 deg", 1))
	empty := write(t, "empty.feature", "Feature: A try\n  @HR-001\n  Rule: One\n    Scenario: Once\n")
	untagged := write(t, "untagged.feature", strings.Replace(feature, "@HR-001", "@HR-002", 1))
	rests := "Given azimuth rests 8 deg inside its upper software limit"
	twice := write(t, "twice.feature", strings.Replace(feature, rests,
		rests+"\n      And azimuth rests in mid-travel", 1))
	selected := write(t, "selected.feature", strings.Replace(feature, rests, rests+
		"\n      And the mode selector is at local\n      And the mode selector is at remote", 1))
	pushed := write(t, "pushed.feature", strings.Replace(feature, rests, rests+
		"\n      And an external torque of 1 kN m acts on azimuth towards its upper end"+
		"\n      And an external torque of 1 kN m acts on azimuth towards its lower end", 1))
	instead := func(name, given string) string {
		return write(t, name, strings.Replace(feature, rests, given, 1))
	}
	torque := instead("torque.feature",
		"Given an external torque of 9000 kN m acts on azimuth towards its upper end")
	head := instead("head.feature", "Given the fault second_head_frozen is present on azimuth")
	storm := instead("storm.feature",
		"Given the fault wind_gusts is present on station, with mean 60 m/s")
	shift := instead("shift.feature", "Given the limit switches, buffer and hard stop at the "+
		"upper end of azimuth stand 300 deg inboard of their configured positions")
	later := write(t, "later.feature", strings.Replace(feature, "When azimuth",
		"When the fault second_head_alarm begins on azimuth\n      And azimuth", 1))
	hollow := write(t, "hollow.feature", "Feature: A try\n")
	waiver := write(t, "waivers.yaml", "waivers:\n  - requirement: HR-001\n    reason: ''\n"+
		"    expires: 2027-03-31\n")
	notDay := write(t, "days.yaml", "waivers:\n  - requirement: HR-001\n    reason: because\n"+
		"    expires: soon\n")
	buffer := changed(t, "stations/demo.yaml", "buffer_energy: 4200 J", "buffer_energy: 3000 J")
	hand := changed(t, "requirements/recovery.yaml", "<axis>.hand_rate", "<axis>.hand_speed")
	sheet := write(t, "devices.json", `{"station": "large", "devices": []}`)
	return []badInput{
		{"gate --station " + buffer, "demo.yaml:83: azimuth.buffer_energy"},
		{"check " + buffer, "demo.yaml:83: azimuth.buffer_energy"},
		{"check " + hand, "has no such parameter"},
		{"gate --waivers " + waiver, "waivers.yaml:3: "},
		{"gate --waivers " + notDay, "days.yaml:2: "},
		{"run " + phrase, "phrase.feature:5: no phrase says"},
		{"run " + empty, "empty.feature:4: "},
		{"run " + untagged, "untagged.feature:7: "},
		{"run " + twice, "twice.feature:6: \"azimuth rests in mid-travel\": azimuth rests"},
		{"run " + selected, "selected.feature:7: "},
		{"run " + pushed, "pushed.feature:7: "},
		{"run " + torque, "torque.feature:5: "},
		{"run " + head, "station demo has no second read head on azimuth"},
		{"run " + later, "later.feature:6: "},
		{"run " + storm, "more than the antenna is built to survive, 55.00 m/s"},
		{"run " + shift, "beyond the middle of the travel of azimuth"},
		{"run " + hollow, "hollow.feature:1: "},
		{"standin --devices " + sheet, "is of station large, not demo"},
		{"standin --devices " + sheet + " --station large", "the device sheet has no azimuth.encoder"},
	}
}

// changed is a shipped file with one text of it changed.
func changed(t *testing.T, shipped, from, to string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("../../fixtures", shipped))
	if err != nil || strings.Count(string(text), from) != 1 {
		t.Fatalf("%s has %q %d times, %v", shipped, from, strings.Count(string(text), from), err)
	}
	return write(t, filepath.Base(shipped), strings.Replace(string(text), from, to, 1))
}

// badForms are files that would hang the tool, fill its memory or break its readers.
func badForms(t *testing.T) []badInput {
	long := write(t, "long.feature", feature+"# "+strings.Repeat("x", 1<<16)+"\n")
	stray := write(t, "stray.feature",
		strings.Replace(feature, "    Scenario", "    @\n    Scenario", 1))
	pipe := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	return []badInput{
		{"check " + long, "long.feature:8: the line has 65539 bytes"},
		{"run " + long, "long.feature:8: the line has 65539 bytes"},
		{"check " + stray, `stray.feature:4: "@" is no tag`},
		{"run " + stray, `stray.feature:4: "@" is no tag`},
		{"check " + pipe, "pipe: cannot be read; it is no regular file"},
		{"check /dev/zero", "/dev/zero: cannot be read; it is no regular file"},
		{"gate --station " + pipe, "pipe: cannot be read; it is no regular file"},
		{"gate --controller /dev/zero", "/dev/zero: cannot be read; it is no regular file"},
		{"gate --waivers " + pipe, "pipe: cannot be read; it is no regular file"},
		{"run " + pipe, "pipe: cannot be read; it is no regular file"},
		{"judge " + pipe, "not a run folder"},
		{"judge /dev/zero", "not a run folder"},
		{"standin --devices " + pipe, "pipe: cannot be read; it is no regular file"},
	}
}

func TestBadInput_EverythingWrongIsSaidAtOnce(t *testing.T) {
	_, stderr, code := haltmark(t, "gate", "--station", "nowhere", "--seed", "many", "--phases", "0")
	if code != 3 || strings.Count(stderr, "\n") != 3 {
		t.Errorf("exit code %d, said:\n%swant 3 and three lines", code, stderr)
	}
}

// The figures are of testdata/plant/stations.txt, column of the demo station.
func TestCheck_PrintsWhatFollowsFromAStation(t *testing.T) {
	out, _, code := haltmark(t, "check", "demo", "limits", "main-axis-motor", "interlock-bits")
	if code != 0 {
		t.Errorf("exit code %d; want 0", code)
	}
	for _, row := range [][2]string{
		{"azimuth.derived.category0_travel", "0.381 deg"},
		{"azimuth.derived.category0_time", "159.5 ms"},
		{"elevation.derived.category0_travel", "0.280 deg"},
		{"elevation.derived.category0_time", "144.1 ms"},
		{"azimuth.derived.kinetic_energy", "136.0 J"},
	} {
		if !hasRow(out, row[0], row[1]) {
			t.Errorf("no row %s %s", row[0], row[1])
		}
	}
}

func hasRow(text, name, value string) bool {
	for line := range strings.Lines(text) {
		words := strings.Fields(line)
		if len(words) > 1 && words[0] == name {
			return strings.Join(words[1:], " ") == value
		}
	}
	return false
}
