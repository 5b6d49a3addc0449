package evidence

import (
	"fmt"
	"strconv"
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/verdict"
)

// The forms below are what stands in JSON. Values are SI of the unit beside
// them; keys that end in _s are seconds. Seeds are text, since many readers of
// JSON round numbers of 64 bits.

type manifestJSON struct {
	Command     string        `json:"command"`
	CommandLine []string      `json:"command_line"`
	Seed        string        `json:"seed"`
	Date        string        `json:"date"`
	Station     string        `json:"station"`
	Controller  string        `json:"controller"`
	StandIn     bool          `json:"stand_in"`
	Defect      string        `json:"defect,omitempty"`
	Build       string        `json:"build_sha256"`
	Versions    []versionJSON `json:"versions"`
	Fixtures    []fixtureJSON `json:"fixtures"`
	Phases      int           `json:"phases"`
	Step        span          `json:"plant_step_s"`
	Cycle       span          `json:"control_cycle_s"`
	Clock       string        `json:"clock"`
	Tags        string        `json:"tags,omitempty"`
	Partial     bool          `json:"partial"`
	Parameters  originsJSON   `json:"parameters"`
	Slice       string        `json:"slice,omitempty"`
	Scenarios   []plannedJSON `json:"scenarios"`
}

type versionJSON struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

type fixtureJSON struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

type originsJSON struct {
	Assumed        int `json:"assumed"`
	DataSheet      int `json:"data_sheet"`
	MeasuredOnSite int `json:"measured_on_site"`
}

func encodeManifest(m Manifest) manifestJSON {
	form := manifestJSON{Command: m.Command, CommandLine: m.CommandLine, Seed: seedText(m.Seed),
		Date: m.Date, Station: m.Station, Controller: m.Controller, StandIn: m.StandIn,
		Defect: m.Defect, Build: m.Build, Phases: m.Phases, Step: span(m.Step),
		Cycle: span(m.Cycle), Clock: m.Clock,
		Tags: m.Tags, Partial: m.Partial, Parameters: originsJSON(m.Origins),
		Slice: m.Slice.String()}
	for _, v := range m.Versions {
		form.Versions = append(form.Versions, versionJSON(v))
	}
	for _, f := range m.Fixtures {
		form.Fixtures = append(form.Fixtures, fixtureJSON(f))
	}
	for _, p := range m.Scenarios {
		form.Scenarios = append(form.Scenarios, encodePlanned(p))
	}
	return form
}

func (f manifestJSON) manifest() (Manifest, error) {
	m := Manifest{Command: f.Command, CommandLine: f.CommandLine, Date: f.Date,
		Station: f.Station, Controller: f.Controller, StandIn: f.StandIn, Defect: f.Defect,
		Build: f.Build, Phases: f.Phases, Step: time.Duration(f.Step),
		Cycle: time.Duration(f.Cycle), Clock: f.Clock,
		Tags: f.Tags, Partial: f.Partial, Origins: Origins(f.Parameters)}
	for _, v := range f.Versions {
		m.Versions = append(m.Versions, Version(v))
	}
	for _, x := range f.Fixtures {
		m.Fixtures = append(m.Fixtures, Fixture(x))
	}
	for _, x := range f.Scenarios {
		p, err := x.planned()
		if err != nil {
			return m, err
		}
		m.Scenarios = append(m.Scenarios, p)
	}
	var err error
	if m.Slice, err = ParseSlice(f.Slice); err != nil {
		return m, err
	}
	m.Seed, err = seedOf(f.Seed)
	return m, err
}

func seedText(seed uint64) string { return strconv.FormatUint(seed, 10) }

func seedOf(text string) (uint64, error) {
	seed, err := strconv.ParseUint(text, 10, 64)
	if err != nil {
		return 0, fmt.Errorf("seed %q is not a number", text)
	}
	return seed, nil
}

type hostJSON struct {
	Host     string `json:"host"`
	GOOS     string `json:"goos"`
	GOARCH   string `json:"goarch"`
	CPUs     int    `json:"cpus"`
	Jobs     int    `json:"jobs"`
	Started  string `json:"started"`
	Wall     *span  `json:"wall_s"` // null while the run has not ended
	Complete bool   `json:"complete"`
}

func encodeHost(h Host) hostJSON {
	form := hostJSON{Host: h.Name, GOOS: h.GOOS, GOARCH: h.GOARCH, CPUs: h.CPUs, Jobs: h.Jobs,
		Started: h.Started.UTC().Format(time.RFC3339Nano), Complete: h.Complete}
	if h.Complete || h.Wall > 0 {
		wall := span(h.Wall)
		form.Wall = &wall
	}
	return form
}

type sentenceJSON struct {
	Keyword string `json:"keyword"`
	Text    string `json:"text"`
	Line    int    `json:"line"`
	Verdict word   `json:"verdict"`
	Note    string `json:"note,omitempty"`
}

// partsJSON are instants of a stop; null is one that never came.
type partsJSON struct {
	Detected   *span `json:"detected_s"`
	Slowing    *span `json:"slowing_s"`
	Standstill *span `json:"standstill_s"`
	LoadRest   *span `json:"load_at_rest_s"`
	BrakeSet   *span `json:"brake_set_s"`
	TorqueOff  *span `json:"torque_off_s"`
}

func encodeParts(p verdict.Parts) partsJSON {
	instant := func(d time.Duration) *span {
		if d == verdict.NotSeen {
			return nil
		}
		s := span(d)
		return &s
	}
	return partsJSON{instant(p.Detected), instant(p.Slowing), instant(p.Standstill),
		instant(p.LoadRest), instant(p.BrakeSet), instant(p.TorqueOff)}
}

func (f partsJSON) parts() verdict.Parts {
	instant := func(s *span) time.Duration {
		if s == nil {
			return verdict.NotSeen
		}
		return time.Duration(*s)
	}
	return verdict.Parts{Detected: instant(f.Detected), Slowing: instant(f.Slowing),
		Standstill: instant(f.Standstill), LoadRest: instant(f.LoadRest),
		BrakeSet: instant(f.BrakeSet), TorqueOff: instant(f.TorqueOff)}
}

type stopJSON struct {
	Axis      string    `json:"axis"`
	Cause     string    `json:"cause"`
	Parts     partsJSON `json:"parts"` // -1: did not come
	Travel    number    `json:"travel_rad"`
	Derived   number    `json:"derived_travel_rad"`
	RemovedBy string    `json:"torque_removed_by,omitempty"`
}

type figureJSON struct {
	Of     int    `json:"of"` // index into measurements, and then watches
	Axis   string `json:"axis,omitempty"`
	End    string `json:"end,omitempty"`
	Value  number `json:"value"`
	Margin number `json:"margin"`
}

type phaseJSON struct {
	Number  int          `json:"number"`
	Seed    string       `json:"seed"`
	Shift   span         `json:"shift_s"`
	Verdict word         `json:"verdict"`
	Hash    string       `json:"record_sha256"`
	Kept    bool         `json:"kept"`
	Figures []figureJSON `json:"figures,omitempty"`
}

type plotJSON struct {
	Axis  string     `json:"axis"`
	From  span       `json:"from_s"`
	Until span       `json:"until_s"`
	Chain *chainJSON `json:"limit_chain_rad,omitempty"`
}

type chainJSON struct {
	Software   [2]number `json:"software"`
	PreLimit   [2]number `json:"pre_limit"`
	FinalLimit [2]number `json:"final_limit"`
	Buffer     [2]number `json:"buffer"`
	Structure  [2]number `json:"structure"`
}

func encodeChain(c *plant.LimitChain) *chainJSON {
	if c == nil {
		return nil
	}
	both := func(v [2]quantity.Angle) [2]number { return [2]number{number(v[0]), number(v[1])} }
	return &chainJSON{both(c.Software), both(c.PreLimit), both(c.FinalLimit), both(c.Buffer),
		both(c.Structure)}
}

func (f *chainJSON) chain() *plant.LimitChain {
	if f == nil {
		return nil
	}
	both := func(v [2]number) [2]quantity.Angle {
		return [2]quantity.Angle{quantity.Angle(v[0]), quantity.Angle(v[1])}
	}
	return &plant.LimitChain{Software: both(f.Software), PreLimit: both(f.PreLimit),
		FinalLimit: both(f.FinalLimit), Buffer: both(f.Buffer), Structure: both(f.Structure)}
}
