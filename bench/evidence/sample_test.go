package evidence

import (
	"encoding/hex"
	"math"
	"testing"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

const deg = math.Pi / 180

// demoChain is the azimuth chain of the demo station (software limits
// at 205 deg, then 2.6, 5.4, 6.7 deg beyond and a stroke of 0.9 deg).
func demoChain() *plant.LimitChain {
	ends := func(v float64) [2]quantity.Angle {
		return [2]quantity.Angle{quantity.Angle(-v * deg), quantity.Angle(v * deg)}
	}
	return &plant.LimitChain{Software: ends(205), PreLimit: ends(207.6), FinalLimit: ends(210.4),
		Buffer: ends(211.7), Structure: ends(212.6)}
}

// sampleRecord is azimuth turning outward, past its pre-limit, and stopping by a
// ramp; the torque of motor 1 has one spike between two samples.
func sampleRecord() *record.Record {
	r := record.NewRecorder([]record.Channel{
		{Name: "azimuth.position", Dimension: quantity.DimAngle, Extremes: true},
		{Name: "azimuth.rate", Dimension: quantity.DimRate, Extremes: true},
		{Name: "azimuth.encoder", Dimension: quantity.DimAngle},
		{Name: "azimuth.1.torque", Dimension: quantity.DimTorque, Extremes: true},
		{Name: "azimuth.2.torque", Dimension: quantity.DimTorque, Extremes: true},
		{Name: "azimuth.buffer_depth", Dimension: quantity.DimNone},
	}, nil)
	const full, ramp, begin = 2.4, 1.5, 8.0 // deg/s, deg/s^2, s
	position, rate := 191.0, 0.0
	for i := 0; i <= 1500; i++ {
		t := float64(i) / 100
		torque := 0.0
		switch {
		case t > 1 && t <= 2.6:
			rate, torque = 1.5*(t-1), 2.6e3
		case t > 2.6 && t <= begin:
			rate, torque = full, 300+120*math.Sin(9*t)
		case t > begin && rate > 0:
			rate, torque = math.Max(0, full-ramp*(t-begin)), -2.4e3
		default:
			rate = 0
		}
		position += rate / 100
		high := torque + 1500
		if i == 400 {
			high = 9000 // between two samples only
		}
		values := []float64{position * deg, rate * deg, position * deg, torque + 1500,
			torque - 1500, 0}
		low := []float64{(position - rate/100) * deg, rate * deg, torque + 1450, torque - 1550}
		r.Sample(time.Duration(i)*10*time.Millisecond, values, low,
			[]float64{position * deg, rate * deg, high, torque - 1450})
	}
	at := func(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
	r.Edge(0, "bench.step", 250_000)
	r.Edge(0, "azimuth.standstill", 1)
	r.Edge(at(1.02), "azimuth.standstill", 0)
	r.Edge(at(9.61), "azimuth.standstill", 1)
	r.Edge(at(8.02), "relay.channel_1", -1)
	r.Mark(at(1), record.Command, "rate", "azimuth", "")
	r.Mark(at(8.00025), record.Fault, "emergency stop", "", "button & both channels")
	r.Mark(at(8.00025), record.Cause, "emergency_stop", "", "")
	r.Mark(at(8.04), record.Report, "emergency_stop", "", "")
	r.Ask(record.Ask{At: at(8.1), From: at(8.00025), Requirement: "HR-002", Axis: "azimuth",
		Cause: "emergency_stop", Tightened: true, Limit: math.Inf(1),
		Text: "azimuth stops within its category 1 time and travel"})
	r.Ask(record.Ask{At: at(8.2), Until: at(9), Requirement: "HR-003", Limit: math.NaN()})
	return r.Record()
}

func sampleManifest() Manifest {
	return Manifest{Command: "gate", CommandLine: []string{"haltmark", "gate", "--seed", "7"},
		Seed: math.MaxUint64, Date: "2026-03-01", Station: "demo", Controller: "stand-in",
		StandIn: true, Build: "4e1243bd22c66e76c2ba9eddc1f91394e57f9f83", Phases: 2,
		Versions: []Version{{"haltmark", "0.1"}, {"go", "1.26"}},
		Fixtures: []Fixture{{"fixtures/stations/demo.yaml", "9b74c9897bac770ffc029102a200c5de"}},
		Step:     250 * time.Microsecond, Cycle: 20 * time.Millisecond, Clock: "virtual",
		Origins: Origins{118, 9, 0}}
}

func sampleRequirements() []verdict.Requirement {
	return []verdict.Requirement{
		{ID: "HR-001", Statement: "After an emergency stop every axis rests in time.",
			Clause: "common practice", Hazard: "HZ-01", Kind: verdict.Reaction,
			Answers: verdict.Controller, Measure: "stop_time", Comparison: verdict.AtMost},
		{ID: "HR-002", Statement: "It rests within the distance from pre-limit to final limit.",
			Clause: "common practice", Hazard: "HZ-01", Kind: verdict.Reaction,
			Answers: verdict.Controller, Measure: "stop_travel", Comparison: verdict.AtMost},
		{ID: "HR-003", Statement: "The structure is never reached.", Clause: "common practice",
			Hazard: "HZ-02", Kind: verdict.Restraint, Answers: verdict.Station,
			Measure: "structure", Comparison: verdict.AtMost, Watch: true},
		{ID: "HR-004", Statement: "A <tripped> drive's partner lets go & coasts.",
			Clause: "common practice", Hazard: "HZ-03", Kind: verdict.Reaction,
			Answers: verdict.Drive, Measure: "partner_off", Comparison: verdict.AtMost},
	}
}

const stopSentence = "azimuth stops within its category 1 time and travel"

func sampleOutcomes() []verdict.Outcome {
	travel := verdict.Outcome{Requirement: "HR-002", Measure: "stop_travel", Axis: "azimuth",
		Cause: "emergency_stop", Text: stopSentence, Dimension: quantity.DimAngle,
		Comparison: verdict.AtMost, Value: 2.064 * deg, Limit: 2.8 * deg, Margin: 0.736 * deg,
		Uncertainty: verdict.Uncertainty{Timing: 2.4e-4 * deg, Model: 1e-5 * deg},
		Measured:    true, From: 8 * time.Second, Until: 9610 * time.Millisecond,
		At: 9600 * time.Millisecond,
		Spread: &verdict.Spread{Tried: 10, Worst: 1, Least: 1.9 * deg, Greatest: 2.064 * deg,
			Mean: 1.98 * deg, Sigma: 0.04 * deg, MeanPlus3Sigma: 2.1 * deg, From: 1.88 * deg,
			Until: 2.08 * deg}}
	length := travel
	length.Requirement, length.Measure, length.Dimension = "HR-001", "stop_time", quantity.DimSpan
	length.Value, length.Limit, length.Margin = 2.05, 1.9, -0.15
	length.Uncertainty = verdict.Uncertainty{Timing: 1.0206e-4}
	length.Verdict, length.Spread = verdict.Fail, nil
	length.Parts = &verdict.Parts{Detected: 20250 * time.Microsecond, BrakeSet: verdict.NotSeen}
	watch := verdict.Outcome{Requirement: "HR-003", Measure: "structure", Watch: true,
		Dimension: quantity.DimAngle, Comparison: verdict.AtMost, Verdict: verdict.NotExercised}
	return []verdict.Outcome{length, travel, watch}
}

func sampleRun() (*Run, *record.Record) {
	rec := sampleRecord()
	hash := rec.Hash()
	fails := Case{Number: 1, Feature: "The emergency stop stops every axis", Verdict: verdict.Fail,
		Rule: "Pressed in motion, it brings every axis to rest", Path: "features/stop.feature",
		Name: "azimuth moves towards its upper end at full rate", Line: 17,
		Tags: []string{"@smoke", "@HR-001"}, Seed: 12345, Simulated: 150 * time.Second,
		Sentences: []Sentence{
			{"Given", "azimuth rests in mid-travel", 6, verdict.Pass, ""},
			{"When", "azimuth moves towards its upper end at full rate", 7, verdict.Pass, ""},
			{"And", "the emergency stop is pressed", 8, verdict.Pass, ""},
			{"Then", stopSentence, 9, verdict.Pass, ""}},
		Outcomes: sampleOutcomes(), Worst: 1,
		Stops: []Stop{{"azimuth", "emergency_stop", verdict.Parts{
			Detected: 20 * time.Millisecond, Slowing: 60 * time.Millisecond,
			Standstill: 1660 * time.Millisecond, LoadRest: 1900 * time.Millisecond,
			BrakeSet:  1790 * time.Millisecond,
			TorqueOff: verdict.NotSeen}, 2.064 * deg, 2.064 * deg,
			"the safety relay's delayed contact"}},
		Phases: []Phase{
			{Number: 1, Seed: 5, Verdict: verdict.Pass, Hash: "00ff"},
			{Number: 2, Seed: 6, Shift: 2 * time.Millisecond, Verdict: verdict.Fail, Kept: true,
				Hash: hex.EncodeToString(hash[:]), Figures: []Figure{
					{0, "azimuth", "", 2.05, -0.15},
					{1, "azimuth", "upper", math.Inf(1), math.NaN()}}}},
		Plot: Plot{Axis: "azimuth", Chain: demoChain()}}
	pending := Case{Number: 2, Feature: fails.Feature, Path: fails.Path, Line: 30,
		Name: "The partner \"lets go\" <at once>", Verdict: verdict.NotTestable,
		Reason:    "the controller cannot be restarted\x00 & moves",
		Sentences: []Sentence{{"When", "drive 1 trips", 31, verdict.NotTestable, "no restart"}},
		Phases: []Phase{{Number: 1, Verdict: verdict.NotTestable},
			{Number: 2, Verdict: verdict.NotTestable}}}
	waived := pending
	waived.Number, waived.Line, waived.Waived = 3, 40, "no drive of this type yet"
	good := Case{Number: 4, Feature: "Final limits", Path: "features/limits.feature", Line: 4,
		Name: "all is well", Sentences: []Sentence{{"Then", "it holds", 5, verdict.Pass, ""}},
		Phases: []Phase{{Number: 1, Hash: "00ee"}, {Number: 2, Hash: "00ef"}}}
	r := &Run{Manifest: sampleManifest(), Verdict: verdict.Fail, ExitCode: 1,
		Hazards: []verdict.Hazard{
			{ID: "HZ-01", Name: "an axis is driven through the end of its travel"},
			{ID: "HZ-02", Name: "the antenna moves while people are on it", Beyond: "the horn is heard"},
			{ID: "HZ-06", Name: "the transmitter radiates where it must not", Unanswered: "no beam yet"},
		},
		Reasons:      []string{"HR-001 fails: stop time of azimuth is over its limit by 150.0 ms"},
		Requirements: sampleRequirements(), Cases: []Case{fails, pending, waived, good},
		Waivers: []verdict.Waiver{{Requirement: "HR-004", Reason: "no drive of this type yet",
			Expires: "2026-06-30"}}}
	for _, c := range r.Cases {
		r.Manifest.Scenarios = append(r.Manifest.Scenarios, Planned{c.Number, c.Feature, c.Rule,
			c.Name, c.Path, c.Line, c.Tags, c.Corner, c.Seed, len(c.Phases)})
	}
	r.Standings = verdict.Stand(r.Requirements, fails.Outcomes, nil)
	r.Standings, r.Unused = verdict.Waive(r.Standings, r.Waivers, r.Manifest.Date)
	return r, rec
}

// stored is the sample run in a folder, finished.
func stored(t testing.TB) (*Folder, *Run) {
	t.Helper()
	r, rec := sampleRun()
	host := Host{Name: "bench", GOOS: "linux", GOARCH: "amd64", CPUs: 2, Jobs: 1,
		Started: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)}
	f, err := Create(t.TempDir(), r.Manifest, host)
	check(t, err)
	for i := range r.Cases {
		c := &r.Cases[i]
		for _, p := range c.Phases {
			if !p.Kept {
				continue
			}
			phase, err := f.StartPhase(c.Number, c.Name, p.Number)
			check(t, err)
			_, err = rec.WriteTo(phase)
			check(t, err)
			check(t, phase.Keep(rec))
		}
		check(t, f.FinishCase(c))
	}
	host.Wall = 90 * time.Second
	check(t, f.Finish(r, host))
	return f, r
}

func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
