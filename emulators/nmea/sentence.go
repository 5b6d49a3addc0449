package nmea

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
)

// MaxLine is the longest sentence, its dollar sign and line end included.
const MaxLine = 82

// What can be wrong with a line. Parse and ParseWind wrap one of these.
var (
	ErrNoSentence  = errors.New("nmea: no sentence in the line")
	ErrNoChecksum  = errors.New("nmea: no checksum")
	ErrChecksum    = errors.New("nmea: checksum differs")
	ErrForm        = errors.New("nmea: form of the sentence")
	ErrOtherFormat = errors.New("nmea: another formatter")
)

// Sentence is one sentence: two letters of who talks, three of what about, and
// the fields between the commas, any of which may be empty.
type Sentence struct {
	Talker, Formatter string
	Fields            []string
}

// Checksum returns the exclusive-or of all characters between $ and *.
func Checksum(between []byte) byte {
	var sum byte
	for _, b := range between {
		sum ^= b
	}
	return sum
}

// Append appends the sentence as a line: $, fields, *, two hexadecimal digits,
// carriage return and line feed. Characters that a field may not hold are the
// caller's fault and make a line that Parse refuses.
func (s Sentence) Append(dst []byte) []byte {
	start := len(dst) + 1
	dst = append(dst, '$')
	dst = append(dst, s.Talker...)
	dst = append(dst, s.Formatter...)
	for _, field := range s.Fields {
		dst = append(dst, ',')
		dst = append(dst, field...)
	}
	return fmt.Appendf(dst, "*%02X\r\n", Checksum(dst[start:]))
}

// Parse finds the sentence in one line, with or without its line end. It begins
// at the last dollar sign, so that what a broken sentence left before it does no
// harm. The checksum must be there and be right.
func Parse(line []byte) (Sentence, error) {
	line = bytes.TrimRight(line, "\r\n")
	start := bytes.LastIndexByte(line, '$')
	if start < 0 {
		return Sentence{}, ErrNoSentence
	}
	body := line[start+1:]
	if len(body)+len("$\r\n") > MaxLine {
		return Sentence{}, fmt.Errorf("%w: %d characters, at most %d", ErrForm,
			len(body)+len("$\r\n"), MaxLine)
	}
	end := bytes.IndexByte(body, '*')
	if end < 0 {
		return Sentence{}, ErrNoChecksum
	}
	told, ok := hexadecimal(body[end+1:])
	if !ok {
		return Sentence{}, fmt.Errorf("%w: %q is no checksum", ErrForm, body[end+1:])
	}
	body = body[:end]
	if sum := Checksum(body); sum != told {
		return Sentence{}, fmt.Errorf("%w: %02X told, %02X found", ErrChecksum, told, sum)
	}
	return split(body)
}

// split takes a body apart whose checksum was right.
func split(body []byte) (Sentence, error) {
	for _, b := range body {
		if b < ' ' || b > '~' || b == '!' {
			return Sentence{}, fmt.Errorf("%w: character %#02x", ErrForm, b)
		}
	}
	address, rest, _ := strings.Cut(string(body), ",")
	if len(address) != 5 || strings.Trim(address, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") != "" {
		return Sentence{}, fmt.Errorf("%w: address %q, need two letters and three", ErrForm, address)
	}
	s := Sentence{Talker: address[:2], Formatter: address[2:]}
	if len(address) < len(body) {
		s.Fields = strings.Split(rest, ",")
	}
	return s, nil
}

// hexadecimal reads two digits; lower case is accepted.
func hexadecimal(digits []byte) (value byte, ok bool) {
	if len(digits) != 2 {
		return 0, false
	}
	for _, d := range digits {
		switch {
		case d >= '0' && d <= '9':
			value = value<<4 | (d - '0')
		case d >= 'A' && d <= 'F':
			value = value<<4 | (d - 'A' + 10)
		case d >= 'a' && d <= 'f':
			value = value<<4 | (d - 'a' + 10)
		default:
			return 0, false
		}
	}
	return value, true
}

// Frame finds the first line in buffered bytes and returns its size, its line
// feed included, or 0 when more bytes are needed. More than any sentence holds
// without a line feed is no sentence: it is given out as if it were a line.
func Frame(buffered []byte) (size int, err error) {
	if end := bytes.IndexByte(buffered, '\n'); end >= 0 {
		return end + 1, nil
	}
	if len(buffered) > MaxLine {
		return len(buffered), nil
	}
	return 0, nil
}
