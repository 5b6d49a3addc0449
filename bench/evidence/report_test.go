package evidence

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"haltmark/bench/quantity"
	"haltmark/bench/record"
	"haltmark/bench/verdict"
)

func report(t *testing.T, r *Run, rec *record.Record) string {
	t.Helper()
	var b bytes.Buffer
	check(t, WriteReport(&b, r, func(c *Case) (*record.Record, error) {
		if c.Plot.Axis == "" {
			return nil, nil
		}
		return rec, nil
	}))
	return b.String()
}

// The report needs nothing but itself: no script, no address, no file.
func TestWriteReport_StandsByItself(t *testing.T) {
	r, rec := sampleRun()
	page := report(t, r, rec)
	wellFormed(t, []byte(strings.TrimPrefix(page, "<!doctype html>\n")))
	page = strings.ReplaceAll(page, `xmlns="http://www.w3.org/2000/svg"`, "")
	for _, word := range []string{"<script", "http:", "https:", "src=", "url(", "@import",
		"<link", "<iframe", " on"} {
		for _, tag := range regexp.MustCompile(`<[^>]*>`).FindAllString(page, -1) {
			if strings.Contains(tag, word) && !strings.Contains(tag, "content=") {
				t.Errorf("%q in %s", word, tag)
			}
		}
	}
	if strings.Contains(page, "@import") || strings.Contains(page, "url(") {
		t.Error("the style sheet fetches something")
	}
}

// The verdict comes first, then the waivers, then the caution.
func TestWriteReport_Order(t *testing.T) {
	r, rec := sampleRun()
	page := report(t, r, rec)
	at := -1
	for _, text := range []string{"Verdict: fail", "stop time of azimuth is over its limit",
		">Waivers<", "no drive of this type yet", "not a safety assessment", "no emergency stop",
		"Local regulations", "No controller of yours was tested",
		"Of the 127 parameters that the run used, 118 were only assumed", ">Not passed<",
		"1 azimuth moves", ">Requirements<",
		"2.100\u00a0deg", ">Scenarios<", "never", "1.00</td>", "<svg", ">What was run<"} {
		next := strings.Index(page[at+1:], text)
		if next < 0 {
			t.Fatalf("%q is missing or too early", text)
		}
		at += 1 + next
	}
	if strings.Contains(page, "<tripped>") {
		t.Error("a text of the run became markup")
	}
	r.Manifest.StandIn = false
	if strings.Contains(report(t, r, rec), "No controller of yours") {
		t.Error("a real controller is called the stand-in")
	}
}

func TestWriteReport_WithoutRecord(t *testing.T) {
	r, _ := sampleRun()
	if page := report(t, r, nil); !strings.Contains(page, "no record of this scenario was kept") {
		t.Error("nothing says why there is no plot")
	}
	empty := report(t, &Run{Verdict: verdict.BenchFailed, ExitCode: 4}, nil)
	if !strings.Contains(empty, "Verdict: bench failed") ||
		!strings.Contains(empty, "No scenario ended.") {
		t.Error("an empty run says nothing")
	}
}

// pathsOf are the points of every path of a class in an SVG.
func pathsOf(t *testing.T, svg, class string) [][]float64 {
	t.Helper()
	var found [][]float64
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return found
		}
		check(t, err)
		start, ok := token.(xml.StartElement)
		if !ok || start.Name.Local != "path" || attribute(start, "class") != class {
			continue
		}
		var numbers []float64
		for _, text := range regexp.MustCompile(`-?[0-9.]+`).FindAllString(attribute(start, "d"), -1) {
			v, err := strconv.ParseFloat(text, 64)
			check(t, err)
			numbers = append(numbers, v)
		}
		found = append(found, numbers)
	}
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// A spike that lies between two samples is drawn: 9 kN m for less than 10 ms in a
// plot of 15 s, beside a torque that never passes 4.2 kN m in any sample.
func TestDrawPlot_ShowsSpikeBetweenSamples(t *testing.T) {
	rec := sampleRecord()
	svg := drawPlot(rec, Plot{Axis: "azimuth", Chain: demoChain()}, "t")
	tallest := 0.0
	var at float64
	for _, path := range pathsOf(t, svg, "t1 bar") {
		for i := 0; i+2 < len(path); i += 3 { // M x y V y
			if high := path[i+2] - path[i+1]; high > tallest {
				tallest, at = high, path[i]
			}
		}
	}
	// From about 1.9 to 9 kN m on a scale of -3.9 to 9 kN m and 16 % room: over half
	// of the panel's 120 pixels.
	if tallest < 50 {
		t.Errorf("the tallest bar is %.1f px, want the spike", tallest)
	}
	if want := plotLeft + plotColumns*4.0/15; math.Abs(at-want) > 1.5 {
		t.Errorf("the spike stands at %.1f px, want %.1f", at, want)
	}
}

// Many samples fall into one pixel column; the least and the greatest of them, and
// of their intervals, stay.
func TestCurveOf_KeepsExtremes(t *testing.T) {
	r := record.NewRecorder([]record.Channel{
		{Name: "c", Dimension: quantity.DimTorque, Extremes: true}}, nil)
	for i := range 10_000 {
		low, high := 0.0, 0.0
		if i == 4321 {
			low, high = -7, 11
		}
		if i == 77 {
			low, high = 1, -1 // an empty interval
		}
		value := 0.0
		if i == 9_999 {
			value = math.NaN()
		}
		r.Sample(time.Duration(i)*time.Millisecond, []float64{value}, []float64{low}, []float64{high})
	}
	rec := r.Record()
	c, ok := curveOf(rec, "c", window{0, 10 * time.Second, 100}, 2)
	if low, high := c.bounds(); !ok || low != -14 || high != 22 {
		t.Errorf("from %v to %v, want -14 to 22", low, high)
	}
	if c.low[43] != -14 || c.high[43] != 22 || c.low[42] != 0 || c.high[44] != 0 {
		t.Error("the extremes stand in the wrong column")
	}
	if _, ok := curveOf(rec, "other", window{0, time.Second, 10}, 1); ok {
		t.Error("a curve of a channel that is not there")
	}
}

// Near its end the chain is drawn as five lines in its order; the far end is said.
func TestDrawPlot_LimitChain(t *testing.T) {
	svg := drawPlot(sampleRecord(), Plot{Axis: "azimuth", Chain: demoChain()}, "t")
	before := math.Inf(1)
	for _, class := range []string{"software", "prelimit", "finallimit", "buffer", "structure"} {
		lines := pathsOf(t, svg, "chain "+class)
		if len(lines) != 1 {
			t.Fatalf("%d lines of %s, want 1", len(lines), class)
		}
		if y := lines[0][1]; y >= before {
			t.Errorf("%s is drawn at %.1f, not further out than %.1f", class, y, before)
		}
		before = lines[0][1]
	}
	for _, label := range []string{"upper pre-limit 207.60 deg", "upper hard stop 212.60 deg",
		"lower software limit -205.00 deg (below)", "cause: emergency stop, 8.000 s",
		"reported: emergency stop, 8.040 s"} {
		if !strings.Contains(svg, label) {
			t.Errorf("no label %q", label)
		}
	}
	if strings.Contains(svg, "fault:") {
		t.Error("the fault that is the cause is drawn twice")
	}
}

func TestDrawPlot_LowerEnd(t *testing.T) {
	chain := demoChain()
	for i, of := range []*[2]quantity.Angle{&chain.Software, &chain.PreLimit, &chain.FinalLimit,
		&chain.Buffer, &chain.Structure} {
		of[0], of[1] = quantity.Angle(189-float64(i))*deg, quantity.Angle(300+float64(i))*deg
	}
	svg := drawPlot(sampleRecord(), Plot{Axis: "azimuth", Chain: chain}, "t")
	lines := pathsOf(t, svg, "chain structure")
	if len(lines) != 1 || !strings.Contains(svg, "lower hard stop 185.00 deg") ||
		!strings.Contains(svg, "upper software limit 300.00 deg (above)") {
		t.Fatal("the lower end is not drawn, or the upper one not told")
	}
	if inner := pathsOf(t, svg, "chain software")[0][1]; inner >= lines[0][1] {
		t.Errorf("the software limit is drawn at %.1f, below the structure at %.1f", inner,
			lines[0][1])
	}
}

// With the switches moved inward the chain is drawn where it stands, and the
// controller's own limit, far outside, is told.
func TestDrawPlot_MovedChain(t *testing.T) {
	chain := demoChain()
	chain.Software[1] = 260 * deg
	svg := drawPlot(sampleRecord(), Plot{Axis: "azimuth", Chain: chain}, "t")
	for class, want := range map[string]int{"software": 0, "prelimit": 1, "structure": 1} {
		if n := len(pathsOf(t, svg, "chain "+class)); n != want {
			t.Errorf("%d lines of %s, want %d", n, class, want)
		}
	}
	if !strings.Contains(svg, "upper software limit 260.00 deg (above)") {
		t.Error("the controller's limit is not told")
	}
}

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		count     int
		want      []float64
		decimals  int
	}{
		{0, 10, 5, []float64{0, 2, 4, 6, 8, 10}, 0},
		{-0.31, 0.29, 4, []float64{-0.2, 0, 0.2}, 1},
		{3, 3, 4, nil, 0},
	} {
		got, decimals := ticks(c.low, c.high, c.count)
		if len(got) != len(c.want) || decimals != c.decimals {
			t.Errorf("ticks(%v, %v) = %v, %d", c.low, c.high, got, decimals)
			continue
		}
		for i, v := range got {
			if math.Abs(v-c.want[i]) > 1e-12 {
				t.Errorf("ticks(%v, %v) = %v", c.low, c.high, got)
			}
		}
	}
}

func TestSpread_NoOverlap(t *testing.T) {
	got := spread([]float64{10, 11, 12, 99}, 13, 0, 100)
	for i := 1; i < len(got); i++ {
		if got[i]-got[i-1] < 13-1e-9 || got[i] > 100 || got[0] < 0 {
			t.Errorf("labels at %v", got)
		}
	}
}

// The larger of two roundings that would hide a value says so.
func TestShown_NeverHidesAValue(t *testing.T) {
	for _, c := range []struct {
		d    quantity.Dimension
		si   float64
		want string
	}{
		{quantity.DimAngle, 1e-9, "< 0.001 deg"}, {quantity.DimAngle, 0, "0.000 deg"},
		{quantity.DimAngle, -1e-9, "> -0.001 deg"},
		{quantity.DimSpan, 1e-6, "< 0.1 ms"}, {quantity.DimSpan, 0.05, "50.0 ms"},
		{quantity.DimAngle, math.NaN(), "NaN deg"}, {quantity.DimNone, 3, "3"},
	} {
		if got := shown(c.d, c.si); got != c.want {
			t.Errorf("shown(%v, %v) = %q, want %q", c.d, c.si, got, c.want)
		}
	}
}

// Names come from files: nothing in them reaches a terminal that shows the page as text.
func TestWriteReport_ShowsWhatATerminalWouldObey(t *testing.T) {
	r, rec := sampleRun()
	r.Cases[0].Path = "features/\x1b[31mred.feature"
	r.Manifest.Station = "demo\u202eomed\x07"
	page := report(t, r, rec)
	if strings.ContainsAny(page, "\x1b\x07\u202e") {
		t.Error("the page holds control characters")
	}
	if !strings.Contains(page, "features/\ufffd[31mred.feature") ||
		!strings.Contains(page, "demo\ufffdomed\ufffd") {
		t.Error("the page does not show where they stood")
	}
}
