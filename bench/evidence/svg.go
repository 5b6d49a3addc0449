package evidence

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"
)

// drawing is an SVG being written. Coordinates are pixels, to a tenth.
type drawing struct{ b strings.Builder }

func coordinate(v float64) string {
	text := decimal(v, 1)
	return strings.TrimSuffix(text, ".0")
}

func (d *drawing) open(width, height int, title, about string) {
	fmt.Fprintf(&d.b, `<svg viewBox="0 0 %d %d" role="img" xmlns="http://www.w3.org/2000/svg">`,
		width, height)
	fmt.Fprintf(&d.b, "<title>%s</title><desc>%s</desc>\n", html.EscapeString(title),
		html.EscapeString(about))
}

func (d *drawing) close() string {
	d.b.WriteString("</svg>")
	return d.b.String()
}

// line draws one straight line of a class of the style sheet.
func (d *drawing) line(class string, x1, y1, x2, y2 float64) {
	fmt.Fprintf(&d.b, `<path class="%s" d="M%s %sL%s %s"/>`+"\n", class, coordinate(x1),
		coordinate(y1), coordinate(x2), coordinate(y2))
}

func (d *drawing) rectangle(class string, x, y, width, height float64) {
	fmt.Fprintf(&d.b, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`+"\n", class,
		coordinate(x), coordinate(y), coordinate(width), coordinate(height))
}

// text draws a label; anchor is start, middle or end.
func (d *drawing) text(class, anchor string, x, y float64, label string) {
	fmt.Fprintf(&d.b, `<text class="%s" text-anchor="%s" x="%s" y="%s">%s</text>`+"\n", class,
		anchor, coordinate(x), coordinate(y), html.EscapeString(label))
}

// path draws ready path data.
func (d *drawing) path(class, data string) {
	if data != "" {
		fmt.Fprintf(&d.b, `<path class="%s" d="%s"/>`+"\n", class, data)
	}
}

// decimal prints a value; what prints as zero has no sign.
func decimal(v float64, decimals int) string {
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// ticks are round values from low to high, about count of them, and the number
// of decimals that they need.
func ticks(low, high float64, count int) (values []float64, decimals int) {
	width := high - low
	if !(width > 0) || math.IsInf(width, 0) {
		return nil, 0
	}
	power := math.Floor(math.Log10(width / float64(count)))
	step := math.Pow(10, power)
	for _, factor := range [...]float64{2, 5, 10} {
		if width/step <= float64(count) {
			break
		}
		step = factor * math.Pow(10, power)
	}
	decimals = int(max(0, math.Ceil(-math.Log10(step)-1e-9)))
	for n := math.Ceil(low/step - 1e-9); n*step <= high+1e-9*step; n++ {
		values = append(values, n*step)
	}
	return values, decimals
}

// spread moves labels apart that would overlap: wanted places in ascending
// order, at least gap apart, none below low or, where they all fit, above high.
func spread(wanted []float64, gap, low, high float64) []float64 {
	placed := make([]float64, len(wanted))
	least := low
	for i, w := range wanted {
		placed[i] = math.Max(w, least)
		least = placed[i] + gap
	}
	most := high
	for i := len(placed) - 1; i >= 0; i-- {
		placed[i] = math.Min(placed[i], most)
		most = placed[i] - gap
	}
	return placed
}
