package evidence

import (
	"math"
	"strings"
	"time"

	"haltmark/bench/record"
)

// curve is one channel in one pixel column each: least and greatest value of all
// samples and of all extremes that fall into it. A column without any is NaN.
type curve struct{ low, high []float64 }

// window is the span of time that a plot shows, over columns pixels.
type window struct {
	from, until time.Duration
	columns     int
}

// column is the pixel column of an instant; -1 outside.
func (w window) column(at time.Duration) int {
	if at < w.from || at > w.until || w.until <= w.from {
		return -1
	}
	share := float64(at-w.from) / float64(w.until-w.from)
	return min(w.columns-1, int(share*float64(w.columns)))
}

// curveOf gathers a channel by pixel columns, in units of scale; ok is false when
// the record lacks it or the window has none of its samples.
func curveOf(rec *record.Record, channel string, w window, scale float64) (c curve, ok bool) {
	at, values, known := rec.SamplesOf(channel)
	if !known {
		return c, false
	}
	c.low, c.high = make([]float64, w.columns), make([]float64, w.columns)
	for i := range c.low {
		c.low[i], c.high[i] = math.NaN(), math.NaN()
	}
	_, bounds, kept := rec.ExtremesOf(channel)
	for i, when := range at {
		column := w.column(when)
		if column < 0 {
			continue
		}
		if c.take(column, values[i]*scale) {
			ok = true
		}
		if kept && bounds[0][i] <= bounds[1][i] {
			c.take(column, bounds[0][i]*scale)
			c.take(column, bounds[1][i]*scale)
		}
	}
	return c, ok
}

// take widens a column; what is no number is left out.
func (c curve) take(column int, v float64) bool {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return false
	}
	if math.IsNaN(c.low[column]) {
		c.low[column], c.high[column] = v, v
		return true
	}
	c.low[column], c.high[column] = math.Min(c.low[column], v), math.Max(c.high[column], v)
	return true
}

// bounds are the least and the greatest value of all columns.
func (c curve) bounds() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for i, v := range c.low {
		if !math.IsNaN(v) {
			low, high = math.Min(low, v), math.Max(high, c.high[i])
		}
	}
	return low, high
}

// differs reports whether two curves are anywhere apart by more than a distance.
func (c curve) differs(other curve, distance float64) bool {
	for i := range c.low {
		if math.Abs(c.high[i]-other.high[i]) > distance ||
			math.Abs(c.low[i]-other.low[i]) > distance {
			return true
		}
	}
	return false
}

// point is a place on the drawing.
type point struct{ x, y float64 }

// draw gives the middle of every column as one line, and a bar for each column
// whose extremes lie more than a pixel apart.
func (c curve) draw(left float64, y func(float64) float64) (middle, bars string) {
	var m, b strings.Builder
	var points []point
	for i := range c.low {
		if math.IsNaN(c.low[i]) {
			continue
		}
		x, top, bottom := left+float64(i)+0.5, y(c.high[i]), y(c.low[i])
		points = append(points, point{x, (top + bottom) / 2})
		if bottom-top > 1 {
			b.WriteString("M" + coordinate(x) + " " + coordinate(top) + "V" + coordinate(bottom))
		}
	}
	for i, p := range points {
		if i > 0 && i+1 < len(points) && straight(points[i-1], p, points[i+1]) {
			continue
		}
		command := "L"
		if i == 0 {
			command = "M"
		}
		m.WriteString(command + coordinate(p.x) + " " + coordinate(p.y))
	}
	return m.String(), b.String()
}

// straight reports whether the middle point is level with both of its neighbours.
func straight(before, p, after point) bool {
	return math.Abs(before.y-p.y) < 0.05 && math.Abs(after.y-p.y) < 0.05
}
