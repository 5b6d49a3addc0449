package evidence

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"haltmark/bench/channel"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/record"
)

// The plot's measures, in pixels.
const (
	plotWidth   = 990
	plotLeft    = 66.0
	plotColumns = 684
	plotRight   = plotLeft + plotColumns
	laneHeight  = 14.0
	labelGap    = 13.0
)

// panel is one of the three diagrams above each other.
type panel struct {
	title       string
	dimension   quantity.Dimension
	scale       float64 // SI to the unit shown
	unit        string
	top, height float64
	low, high   float64
	curves      []namedCurve
}

type namedCurve struct {
	class, label string
	curve        curve
}

// y is the place of a value.
func (p *panel) y(v float64) float64 {
	share := (v - p.low) / (p.high - p.low)
	return p.top + p.height*(1-math.Min(1.5, math.Max(-0.5, share)))
}

// plot is one scenario's drawing under way.
type plot struct {
	drawing
	rec    *record.Record
	spec   Plot
	window window
	marks  []placed
	lanes  int
	bottom float64
}

// drawPlot draws position, rate and torque of an axis over time, one above the
// other, with the limit chain on the position panel and the marks of causes and
// reports across all. It is empty when the record does not know the axis.
func drawPlot(rec *record.Record, spec Plot, title string) string {
	from, until := rec.Span()
	if spec.Until <= 0 || spec.Until > until {
		spec.Until = until
	}
	spec.From = max(spec.From, from)
	p := &plot{rec: rec, spec: spec, window: window{spec.From, spec.Until, plotColumns}}
	panels := p.panels()
	if len(panels) == 0 || spec.Until <= spec.From {
		return ""
	}
	p.placeMarks()
	top := 24 + laneHeight*float64(p.lanes)
	for i := range panels {
		panels[i].top = top
		top += panels[i].height + 30
	}
	p.bottom = top - 30
	p.open(plotWidth, int(p.bottom)+40, title, p.about())
	for i := range panels {
		p.grid(&panels[i])
	}
	p.drawMarks(panels[0].top)
	p.chain(&panels[0])
	for i := range panels {
		p.curves(&panels[i])
	}
	p.timeAxis()
	return p.close()
}

// about says in words what the drawing shows.
func (p *plot) about() string {
	text := fmt.Sprintf("Position, rate and torque of %s from %.2f s to %.2f s.",
		axisWords(p.spec.Axis), p.spec.From.Seconds(), p.spec.Until.Seconds())
	for _, m := range p.marks {
		text += " " + m.label + "."
	}
	return text
}

func (p *plot) panels() []panel {
	axis := p.spec.Axis
	degrees := quantity.DimAngle.In(1)
	position := panel{title: "Position", dimension: quantity.DimAngle, scale: degrees, unit: "deg",
		height: 250}
	position.add(p, channel.Position.Of(axis), "t1", "axis")
	if len(position.curves) == 0 {
		return nil
	}
	low, high := position.curves[0].curve.bounds()
	encoder, ok := curveOf(p.rec, channel.Encoder.Of(axis), p.window, degrees)
	if ok && encoder.differs(position.curves[0].curve, max(0.2, (high-low)/50)) {
		position.curves = append(position.curves, namedCurve{"t2", "encoder", encoder})
	}
	position.reach(p.spec.Chain)
	rate := panel{title: "Rate", dimension: quantity.DimRate, scale: degrees, unit: "deg/s",
		height: 120}
	rate.add(p, channel.Rate.Of(axis), "t1", "axis")
	torque := panel{title: "Motor torque at the axis", dimension: quantity.DimTorque, scale: 1e-3,
		unit: "kN m", height: 120}
	number := 0
	for m, name := range plant.MotorNames {
		if plant.AxisNames[plant.MotorAxis[m]] == axis {
			number++
			torque.add(p, channel.Torque.Of(name), fmt.Sprintf("t%d", number),
				fmt.Sprintf("motor %d", number))
		}
	}
	all := []panel{position}
	for _, q := range []panel{rate, torque} {
		if len(q.curves) > 0 {
			q.around()
			all = append(all, q)
		}
	}
	return all
}

// add draws a channel on the panel if the record has it.
func (q *panel) add(p *plot, channel, class, label string) {
	if c, ok := curveOf(p.rec, channel, p.window, q.scale); ok {
		q.curves = append(q.curves, namedCurve{class, label, c})
	}
}

func (q *panel) bounds() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, c := range q.curves {
		l, h := c.curve.bounds()
		low, high = math.Min(low, l), math.Max(high, h)
	}
	return low, high
}

// around sets the range to the curves and zero, with a margin.
func (q *panel) around() {
	low, high := q.bounds()
	low, high = math.Min(low, 0), math.Max(high, 0)
	room := math.Max(0.08*(high-low), 1e-3)
	q.low, q.high = low-room, high+room
}

// reach sets the range of the position to the curves and to what of the chain they
// come near to. Where one layer of an end is near, its outer ones are shown too; a
// layer that was moved inward may leave the controller's own limit far outside.
func (q *panel) reach(chain *plant.LimitChain) {
	low, high := q.bounds()
	near := math.Max(high-low, 6)
	first, last := low, high
	if chain != nil {
		for _, l := range layers(chain, plant.Lower) {
			if first-l.at < near || low < first && l.name != softwareName {
				low = math.Min(low, l.at)
			}
		}
		for _, l := range layers(chain, plant.Upper) {
			if l.at-last < near || high > last && l.name != softwareName {
				high = math.Max(high, l.at)
			}
		}
	}
	room := math.Max(0.06*(high-low), 0.05)
	q.low, q.high = low-room, high+room
}

// grid draws frame, scale and title of a panel.
func (p *plot) grid(q *panel) {
	p.rectangle("frame", plotLeft, q.top, plotColumns, q.height)
	values, decimals := ticks(q.low, q.high, int(q.height/26))
	for _, v := range values {
		y := q.y(v)
		class := "grid"
		if math.Abs(v) < 1e-9 && q.dimension != quantity.DimAngle {
			class = "zero"
		}
		p.line(class, plotLeft, y, plotRight, y)
		p.text("tick", "end", plotLeft-6, y+4, decimal(v, decimals))
	}
	p.text("panel", "start", plotLeft, q.top-6, q.title+", "+q.unit)
}

// curves draws the curves of a panel, with a key where there are several.
func (p *plot) curves(q *panel) {
	for _, c := range q.curves {
		middle, bars := c.curve.draw(plotLeft, q.y)
		p.path(c.class+" bar", bars)
		p.path(c.class, middle)
	}
	if len(q.curves) < 2 {
		return
	}
	for i, c := range q.curves { // a key beside the panel's title
		x, y := plotRight-110-float64(len(q.curves)-1-i)*120, q.top-10
		p.line(c.class, x, y, x+34, y)
		p.text("tick", "start", x+40, y+4, c.label)
	}
}

func (p *plot) timeAxis() {
	values, decimals := ticks(p.spec.From.Seconds(), p.spec.Until.Seconds(), 9)
	for _, v := range values {
		x := p.x(time.Duration(v * float64(time.Second)))
		p.line("axis", x, p.bottom, x, p.bottom+5)
		p.text("tick", "middle", x, p.bottom+18, decimal(v, decimals))
	}
	p.text("tick", "end", plotRight, p.bottom+34, "time since the world's start, s")
}

func (p *plot) x(at time.Duration) float64 {
	share := float64(at-p.spec.From) / float64(p.spec.Until-p.spec.From)
	return plotLeft + plotColumns*share
}

// layer is one line of the limit chain.
type layer struct {
	class, name string
	at          float64 // deg
}

// softwareName names the layer that is the controller's own.
const softwareName = "software limit"

// layers are the chain of one end, inward to outward.
func layers(c *plant.LimitChain, end int) []layer {
	return []layer{
		{"software", softwareName, c.Software[end].Degrees()},
		{"prelimit", "pre-limit", c.PreLimit[end].Degrees()},
		{"finallimit", "final limit", c.FinalLimit[end].Degrees()},
		{"buffer", "buffer touched", c.Buffer[end].Degrees()},
		{"structure", "hard stop", c.Structure[end].Degrees()},
	}
}

// chain draws the limit chain: lines with their names at the right where the
// panel reaches them, and a note beside it where it does not.
func (p *plot) chain(q *panel) {
	if p.spec.Chain == nil {
		return
	}
	for _, end := range [...]int{plant.Upper, plant.Lower} {
		p.chainEnd(q, layers(p.spec.Chain, end), end)
	}
}

// chainEnd draws one end. Of the layers that the panel does not reach, it names
// the nearest where it reaches none, and the software limit always.
func (p *plot) chainEnd(q *panel, all []layer, end int) {
	slices.SortStableFunc(all, func(a, b layer) int { return cmp.Compare(b.at, a.at) })
	var places []float64
	var labels []layer
	reached := false
	for _, l := range all {
		reached = reached || l.at >= q.low && l.at <= q.high
	}
	for i, l := range all {
		inside := l.at >= q.low && l.at <= q.high
		nearest := (end == plant.Lower && i == 0) || (end == plant.Upper && i == len(all)-1)
		if inside || l.name == softwareName || (!reached && nearest) {
			labels = append(labels, l)
			places = append(places, math.Max(q.top, math.Min(q.top+q.height, q.y(l.at))))
		}
	}
	spaced := spread(places, labelGap, q.top+4, q.top+q.height-2)
	for i, l := range labels {
		text := fmt.Sprintf("%s %s %.2f deg", plant.EndNames[end], l.name, l.at)
		switch {
		case l.at > q.high:
			text += " (above)"
		case l.at < q.low:
			text += " (below)"
		default:
			p.line("chain "+l.class, plotLeft, places[i], plotRight, places[i])
			p.line("leader", plotRight, places[i], plotRight+10, spaced[i])
		}
		p.text("limit", "start", plotRight+13, spaced[i]+4, text)
	}
}
