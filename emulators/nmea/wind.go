package nmea

import (
	"fmt"
	"math"
	"strconv"

	"haltmark/bench/quantity"
)

// Reference is what a wind's angle is measured from.
type Reference byte

// The references.
const (
	Relative Reference = 'R' // as felt, from where the sensor points
	True     Reference = 'T' // from true north, or as if at rest
)

// Unit is that of a wind's speed.
type Unit byte

// The units.
const (
	Knots             Unit = 'N'
	MetresPerSecond   Unit = 'M'
	KilometresPerHour Unit = 'K'
)

// Each is the speed of one unit in m/s; zero for what is no unit.
func (u Unit) Each() quantity.Speed {
	switch u {
	case Knots:
		return 1852.0 / 3600
	case MetresPerSecond:
		return 1
	case KilometresPerHour:
		return 1 / 3.6
	}
	return 0
}

// Wind is an MWV sentence, wind speed and angle.
type Wind struct {
	Talker    string // WI, weather instruments, as a rule
	Angle     Number // deg, 0 to 359.9
	Reference Reference
	Speed     Number // in Unit
	Unit      Unit
	Valid     bool // status A; V otherwise
}

// Number is a field that may be empty.
type Number struct {
	Value float64
	Given bool
}

// Given makes a number.
func Given(value float64) Number { return Number{value, true} }

// MetresPerSecond returns the speed in m/s, and whether the sentence is valid and
// has it.
func (w Wind) MetresPerSecond() (speed quantity.Speed, ok bool) {
	return quantity.Speed(w.Speed.Value) * w.Unit.Each(), w.Valid && w.Speed.Given
}

// Append appends the sentence as a line, numbers to a tenth.
func (w Wind) Append(dst []byte) []byte {
	status := "V"
	if w.Valid {
		status = "A"
	}
	angle := w.Angle
	angle.Value = math.Mod(math.Round(angle.Value*10), 3600) / 10 // 359.97 is 0
	if angle.Value < 0 {
		angle.Value += 360
	}
	angle.Value = math.Abs(angle.Value) // no minus before zero
	s := Sentence{Talker: w.Talker, Formatter: "MWV", Fields: []string{
		angle.text(5), string(rune(w.Reference)), w.Speed.text(4), string(rune(w.Unit)), status}}
	return s.Append(dst)
}

func (n Number) text(width int) string {
	if !n.Given {
		return ""
	}
	return fmt.Sprintf("%0*.1f", width, n.Value)
}

// ParseWind reads an MWV sentence from a line. Another formatter is
// ErrOtherFormat, which a listener lets go by.
func ParseWind(line []byte) (Wind, error) {
	s, err := Parse(line)
	if err != nil {
		return Wind{}, err
	}
	if s.Formatter != "MWV" {
		return Wind{}, fmt.Errorf("%w: %s", ErrOtherFormat, s.Formatter)
	}
	if len(s.Fields) != 5 {
		return Wind{}, fmt.Errorf("%w: MWV with %d fields, need 5", ErrForm, len(s.Fields))
	}
	w := Wind{Talker: s.Talker, Valid: s.Fields[4] == "A"}
	if w.Angle, err = number("angle", s.Fields[0], 360); err != nil {
		return Wind{}, err
	}
	if w.Speed, err = number("speed", s.Fields[2], maxSpeed); err != nil {
		return Wind{}, err
	}
	switch s.Fields[1] {
	case "R", "T":
		w.Reference = Reference(s.Fields[1][0])
	default:
		return Wind{}, fmt.Errorf("%w: reference %q, need R or T", ErrForm, s.Fields[1])
	}
	switch s.Fields[3] {
	case "N", "M", "K":
		w.Unit = Unit(s.Fields[3][0])
	default:
		return Wind{}, fmt.Errorf("%w: unit %q, need N, M or K", ErrForm, s.Fields[3])
	}
	if !w.Valid && s.Fields[4] != "V" {
		return Wind{}, fmt.Errorf("%w: status %q, need A or V", ErrForm, s.Fields[4])
	}
	return w, nil
}

// maxSpeed is more than any wind in any unit.
const maxSpeed = 1000

// number reads decimal digits with at most one point, from 0 to highest.
func number(what, text string, highest float64) (Number, error) {
	if text == "" {
		return Number{}, nil
	}
	for _, c := range text {
		if (c < '0' || c > '9') && c != '.' {
			return Number{}, fmt.Errorf("%w: %s %q is no number", ErrForm, what, text)
		}
	}
	value, err := strconv.ParseFloat(text, 64)
	if err != nil || value > highest {
		return Number{}, fmt.Errorf("%w: %s %q, need 0 to %g", ErrForm, what, text, highest)
	}
	return Given(value), nil
}
