package quantity

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Parse reads a number and its unit, such as "95 t m^2", and returns the value
// in SI and the unit as written. The space before the unit may be left out.
// The message of an error lists the units that the dimension takes.
func Parse(d Dimension, text string) (si float64, unitName string, err error) {
	row := d.row()
	number, name := split(text)
	if number == "" {
		return 0, "", fmt.Errorf("%q is not a number with a unit; %s", text, row.need())
	}
	value, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsInf(value, 0) {
		return 0, "", fmt.Errorf("%q is not a number that can be held", number)
	}
	if name == "" && !row.bare() {
		return 0, "", fmt.Errorf("no unit provided; %s", row.need())
	}
	for _, u := range row.units {
		if u.name == name {
			return scaled(value, u.factor), name, nil
		}
	}
	return 0, "", fmt.Errorf("unknown unit %q; %s", name, row.need())
}

// scaled multiplies by the factor, but divides where the factor is an inverse
// of ten: 70/1000 is the nearest number to 0.07, and 70*0.001 is not.
func scaled(value, factor float64) float64 {
	if inverse := math.Round(1 / factor); factor < 1 && inverse*factor == 1 {
		return value / inverse
	}
	return value * factor
}

// need lists the units of a row as a sentence ends: "need deg or rad".
func (r dimensionRow) need() string {
	var names []string
	for _, u := range r.units {
		if u.name == "" {
			names = append(names, "a bare number")
			continue
		}
		names = append(names, u.name)
	}
	last := len(names) - 1
	if last <= 0 {
		return "need " + strings.Join(names, "")
	}
	return "need " + strings.Join(names[:last], ", ") + " or " + names[last]
}

// split cuts the longest decimal number off the front of text. Hexadecimal,
// "inf" and "nan" are no numbers here.
func split(text string) (number, rest string) {
	text = strings.TrimSpace(text)
	i := 0
	if i < len(text) && (text[i] == '-' || text[i] == '+') {
		i++
	}
	whole := digits(text[i:])
	i += whole
	fraction := 0
	if i < len(text) && text[i] == '.' {
		fraction = digits(text[i+1:])
		if whole+fraction > 0 {
			i += 1 + fraction
		}
	}
	if whole+fraction == 0 {
		return "", text
	}
	i += exponent(text[i:])
	return text[:i], strings.TrimSpace(text[i:])
}

func digits(text string) int {
	n := 0
	for n < len(text) && text[n] >= '0' && text[n] <= '9' {
		n++
	}
	return n
}

// exponent is the length of an "e-3" that begins text, 0 where there is none.
func exponent(text string) int {
	if text == "" || (text[0] != 'e' && text[0] != 'E') {
		return 0
	}
	i := 1
	if i < len(text) && (text[i] == '-' || text[i] == '+') {
		i++
	}
	n := digits(text[i:])
	if n == 0 {
		return 0
	}
	return i + n
}

// ParseAngle reads an angle, "12.5 deg".
func ParseAngle(text string) (Angle, error) { return parse[Angle](DimAngle, text) }

// ParseRate reads a rate, "2.4 deg/s".
func ParseRate(text string) (Rate, error) { return parse[Rate](DimRate, text) }

// ParseTorque reads a torque, "42 kN m".
func ParseTorque(text string) (Torque, error) { return parse[Torque](DimTorque, text) }

// ParseSpeed reads a linear speed, "20 m/s".
func ParseSpeed(text string) (Speed, error) { return parse[Speed](DimSpeed, text) }

func parse[T ~float64](d Dimension, text string) (T, error) {
	si, _, err := Parse(d, text)
	return T(si), err
}

// ParseSpan reads a span of time, "70 ms", to the nearest nanosecond.
func ParseSpan(text string) (time.Duration, error) {
	si, _, err := Parse(DimSpan, text)
	if err != nil {
		return 0, err
	}
	return Span(si)
}

// Span turns seconds into a time.Duration, to the nearest nanosecond.
func Span(seconds float64) (time.Duration, error) {
	ns := math.Round(seconds * 1e9)
	if math.IsNaN(ns) || math.Abs(ns) > math.MaxInt64/2 {
		return 0, fmt.Errorf("span of %g s is too long to hold", seconds)
	}
	return time.Duration(ns), nil
}

// ParseAny reads a value whose unit alone tells the dimension, such as the
// weight of one count in a register map, "0.01 rpm". A bare number is DimNone.
func ParseAny(text string) (Dimension, float64, error) {
	number, name := split(text)
	for d := DimNone; number != "" && d < dimensionCount; d++ {
		if slices.ContainsFunc(d.row().units, func(u unit) bool { return u.name == name }) {
			si, _, err := Parse(d, text)
			return d, si, err
		}
	}
	if number == "" {
		return DimNone, 0, fmt.Errorf("%q is not a number with a unit", text)
	}
	return DimNone, 0, fmt.Errorf("unknown unit %q; need a unit such as rpm, deg/s or N m", name)
}
