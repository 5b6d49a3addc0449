package nmea

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

type vector struct {
	line string
	wind Wind
}

// The form is from memory, the checksums are computed: testdata/SOURCES.md.
func vectors() []vector {
	return []vector{
		{"$WIMWV,041.1,R,01.0,N,A*16", Wind{"WI", Given(41.1), Relative, Given(1), Knots, true}},
		{"$WIMWV,270.0,T,12.5,M,A*15", Wind{"WI", Given(270), True, Given(12.5),
			MetresPerSecond, true}},
		{"$WIMWV,,T,,M,V*31", Wind{Talker: "WI", Reference: True, Unit: MetresPerSecond}},
	}
}

func TestVectors_BothWays(t *testing.T) {
	for _, v := range vectors() {
		if got := string(v.wind.Append(nil)); got != v.line+"\r\n" {
			t.Errorf("written %q, want %q", got, v.line)
		}
		for _, end := range []string{"", "\r\n", "\n"} {
			got, err := ParseWind([]byte(v.line + end))
			if diff := cmp.Diff(v.wind, got); err != nil || diff != "" {
				t.Errorf("%q: %v -want +got\n%s", v.line+end, err, diff)
			}
		}
	}
}

// One knot is 1852 m an hour exactly (the international nautical mile).
func TestWind_MetresPerSecond(t *testing.T) {
	for unit, want := range map[Unit]float64{
		Knots: 20 * 1852.0 / 3600, MetresPerSecond: 20, KilometresPerHour: 20 / 3.6, 'S': 0,
	} {
		w := Wind{Speed: Given(20), Unit: unit, Valid: true}
		got, ok := w.MetresPerSecond()
		if math.Abs(float64(got)-want) > 1e-12 || !ok {
			t.Errorf("20 %c is %v, want %g m/s", unit, got, want)
		}
		w.Valid = false
		if _, ok := w.MetresPerSecond(); ok {
			t.Error("a speed that is not valid is taken")
		}
		w.Valid, w.Speed.Given = true, false
		if _, ok := w.MetresPerSecond(); ok {
			t.Error("a speed that is not given is taken")
		}
	}
}

// An angle is told as 0 to 359.9 deg, whole turns taken off.
func TestWind_AngleComesRound(t *testing.T) {
	for angle, want := range map[float64]string{
		0: "000.0", 359.94: "359.9", 359.96: "000.0", 360: "000.0", 725: "005.0", -10: "350.0",
		-0.01: "000.0",
	} {
		got := Wind{Talker: "WI", Angle: Given(angle), Reference: True, Unit: Knots}.Append(nil)
		if !strings.HasPrefix(string(got), "$WIMWV,"+want+",T") {
			t.Errorf("%g deg is told as %q", angle, got)
		}
	}
}

// Every change of one character in a sentence fails its checksum or its form:
// that is what the checksum is for.
func TestParse_RefusesEveryChangedCharacter(t *testing.T) {
	const line = "$WIMWV,041.1,R,01.0,N,A*16"
	for i := range line {
		for b := range 256 {
			changed := []byte(line)
			changed[i] = byte(b)
			if string(changed) == line {
				continue
			}
			if w, err := ParseWind(changed); err == nil {
				t.Errorf("%q is read as %+v", changed, w)
			}
		}
	}
	for i := range len(line) {
		if w, err := ParseWind([]byte(line[:i])); err == nil {
			t.Errorf("cut to %q it is read as %+v", line[:i], w)
		}
	}
}

// seal gives a body its right checksum.
func seal(body string) string {
	return strings.TrimSuffix(string(Sentence{Talker: body[:2], Formatter: body[2:]}.Append(nil)),
		"\r\n")
}

func TestParseWind_Refuses(t *testing.T) {
	for _, row := range []struct {
		line string
		want error
	}{
		{"", ErrNoSentence},
		{"WIMWV,041.1,R,01.0,N,A*16", ErrNoSentence},
		{"$WIMWV,041.1,R,01.0,N,A", ErrNoChecksum},
		{"$WIMWV,041.1,R,01.0,N,A*17", ErrChecksum},
		{"$WIMWV,041.1,R,01.0,N,A*1", ErrForm},
		{"$WIMWV,041.1,R,01.0,N,A*161", ErrForm},
		{"$WIMWV,041.1,R,01.0,N,A*1G", ErrForm},
		{seal("WIMWD,270.0,T,272.0,M,24.3,N,12.5,M"), ErrOtherFormat},
		{seal("WIMWV,041.1,R,01.0,N"), ErrForm},
		{seal("WIMWV,041.1,R,01.0,N,A,1"), ErrForm},
		{seal("WIMWV,041.1,Q,01.0,N,A"), ErrForm},
		{seal("WIMWV,041.1,R,01.0,S,A"), ErrForm},
		{seal("WIMWV,041.1,R,01.0,N,X"), ErrForm},
		{seal("WIMWV,041.1,R,01.0,N,"), ErrForm},
		{seal("WIMWV,360.1,R,01.0,N,A"), ErrForm},
		{seal("WIMWV,-41.1,R,01.0,N,A"), ErrForm},
		{seal("WIMWV,041.1,R,1e3,N,A"), ErrForm},
		{seal("WIMWV,041.1,R,NaN,N,A"), ErrForm},
		{seal("WIMWV,041.1,R,1.0.0,N,A"), ErrForm},
		{seal("WIMWV,041.1,R,1000.1,N,A"), ErrForm},
		{seal("WIMWVX,041.1,R,01.0,N,A"), ErrForm},
		{seal("wimwv,041.1,R,01.0,N,A"), ErrForm},
		{seal("WIMWV,041.1\x07,R,01.0,N,A"), ErrForm},
		{seal("WIMWV,041.1,R," + strings.Repeat("0", 70) + "1,N,A"), ErrForm},
	} {
		if _, err := ParseWind([]byte(row.line)); !errors.Is(err, row.want) {
			t.Errorf("%q: %v, want %v", row.line, err, row.want)
		}
	}
}

// A listener finds its sentence behind noise and behind the rest of another.
func TestParse_FindsTheSentenceInGarbage(t *testing.T) {
	const line = "$WIMWV,270.0,T,12.5,M,A*15"
	for _, before := range []string{"\x00\xff#", "$WIMW", "$WIMWV,041.1,R,01.0,N,A*16", "$$"} {
		if w, err := ParseWind([]byte(before + line)); err != nil || w.Angle.Value != 270 {
			t.Errorf("behind %q: %+v, %v", before, w, err)
		}
	}
	got, err := Parse([]byte(seal("GPZDA,,,,,,")))
	want := Sentence{"GP", "ZDA", []string{"", "", "", "", "", ""}}
	if diff := cmp.Diff(want, got); err != nil || diff != "" {
		t.Errorf("%v %s", err, diff)
	}
	if got, err = Parse([]byte(seal("GPZDA"))); err != nil || got.Fields != nil {
		t.Errorf("without fields: %+v, %v", got, err)
	}
}

// A stream of lines comes out line by line however it is cut.
func TestFrame_CutsLinesHoweverTheyArrive(t *testing.T) {
	const noise = 200
	stream := []byte("$WIMWV,270.0,T,12.5,M,A*15\r\n\n$WIMWV,,T,,M,V*31\n" +
		strings.Repeat("x", noise))
	for _, piece := range []int{1, 2, 7, 1000} {
		var buffered []byte
		var lines []string
		for part := range slices.Chunk(stream, piece) {
			buffered = append(buffered, part...)
			for len(buffered) > 0 {
				size, err := Frame(buffered)
				if err != nil || size > len(buffered) {
					t.Fatal(size, err)
				}
				if size == 0 {
					break
				}
				lines = append(lines, string(buffered[:size]))
				buffered = buffered[size:]
			}
		}
		want := []string{"$WIMWV,270.0,T,12.5,M,A*15\r\n", "\n", "$WIMWV,,T,,M,V*31\n"}
		if len(lines) < 4 || !slices.Equal(lines[:3], want) {
			t.Errorf("in pieces of %d: %q", piece, lines)
		}
		if len(buffered) > MaxLine {
			t.Errorf("in pieces of %d: %d bytes are kept", piece, len(buffered))
		}
	}
}

// Whatever comes, reading ends; what is read is written and read again alike.
func FuzzParseWind(f *testing.F) {
	for _, v := range vectors() {
		f.Add([]byte(v.line + "\r\n"))
	}
	f.Add([]byte("$$*00"))
	f.Fuzz(func(t *testing.T, line []byte) {
		if size, err := Frame(line); err != nil || size > len(line) {
			t.Fatalf("frame of %d in %d bytes, %v", size, len(line), err)
		}
		s, err := Parse(line)
		if err == nil {
			again, err := Parse(s.Append(nil))
			if diff := cmp.Diff(s, again); err != nil || diff != "" {
				t.Fatalf("%q: %v\n%s", line, err, diff)
			}
			if !bytes.Contains(line, []byte(s.Talker+s.Formatter)) {
				t.Fatalf("%q is read as %+v", line, s)
			}
		}
		w, err := ParseWind(line)
		if err != nil {
			return
		}
		text := w.Append(nil)
		again, err := ParseWind(text)
		if err != nil || string(again.Append(nil)) != string(text) {
			t.Fatalf("%q is written as %q and read with %v", line, text, err)
		}
	})
}
