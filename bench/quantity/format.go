package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Format prints an SI value in the trade unit of its dimension, such as
// "12.500 deg"; torque, inertia, stiffness and damping move to their larger
// unit from a thousand on, spans below a second are in milliseconds. Not a
// number prints as "NaN" with the unit, so that it shows.
func Format(d Dimension, si float64) string {
	row := d.row()
	name, decimals := row.printed, row.decimals
	value := si / row.factor(name)
	for _, large := range row.large {
		if math.Abs(si) >= row.factor(large) {
			name, decimals = large, 3
			value = si / row.factor(name)
		}
	}
	if row.small != "" && math.Abs(value) < 1 && value != 0 {
		name, decimals = row.small, 1
		value = si / row.factor(name)
	}
	text := unsigned(strconv.FormatFloat(value, 'f', decimals, 64))
	if name == "" {
		return text
	}
	return text + " " + name
}

// Short is Format without decimals that are zero, such as "12.5 deg".
func Short(d Dimension, si float64) string {
	number, unit, spaced := strings.Cut(Format(d, si), " ")
	if strings.Contains(number, ".") {
		number = strings.TrimRight(strings.TrimRight(number, "0"), ".")
	}
	if !spaced {
		return number
	}
	return number + " " + unit
}

// unsigned drops the sign of a value that printed as zero.
func unsigned(text string) string {
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// Origin says where the value of a parameter comes from.
type Origin int

// The origins, from the weakest on.
const (
	Assumed Origin = iota
	DataSheet
	MeasuredOnSite
)

func (o Origin) String() string {
	switch o {
	case Assumed:
		return "assumed"
	case DataSheet:
		return "data sheet"
	case MeasuredOnSite:
		return "measured on site"
	}
	return "origin " + strconv.Itoa(int(o))
}

// ParseOrigin reads an origin as files spell it.
func ParseOrigin(text string) (Origin, error) {
	for _, o := range []Origin{Assumed, DataSheet, MeasuredOnSite} {
		if text == o.String() {
			return o, nil
		}
	}
	return 0, fmt.Errorf("no such origin %q; need assumed, data sheet or measured on site", text)
}
