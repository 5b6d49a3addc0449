package evidence

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// The slices of a plan share it: each case is in exactly one, and they are equally
// long to within one case.
func TestSlice_SharesThePlan(t *testing.T) {
	for of := 1; of <= 7; of++ {
		owners := map[int]int{}
		sizes := make([]int, of)
		for part := 1; part <= of; part++ {
			s, err := ParseSlice(fmt.Sprintf("%d/%d", part, of))
			if err != nil {
				t.Fatal(err)
			}
			for number := 1; number <= 20; number++ {
				if s.Has(number) {
					owners[number]++
					sizes[part-1]++
				}
			}
		}
		for number := 1; number <= 20; number++ {
			if owners[number] != 1 {
				t.Errorf("of %d: case %d is in %d slices", of, number, owners[number])
			}
		}
		if slices.Max(sizes)-slices.Min(sizes) > 1 {
			t.Errorf("of %d: sizes %v", of, sizes)
		}
	}
	if !(Slice{}).Has(7) {
		t.Error("the whole lacks a case")
	}
}

func TestParseSlice_Refuses(t *testing.T) {
	for _, text := range []string{"0/3", "4/3", "-1/3", "1", "1/", "/3", "1/3 ", "01/3", "1/0",
		"1/3/5", "a/b", "1/1001"} {
		if s, err := ParseSlice(text); err == nil || !strings.Contains(err.Error(), text) {
			t.Errorf("%q: %v, %v", text, s, err)
		}
	}
}

func FuzzSlice(f *testing.F) {
	for _, text := range []string{"2/5", "1/1000", "01/3", "1/3/5", "/"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if s, err := ParseSlice(text); err == nil && text != "" &&
			(s.String() != text || s.Part < 1 || s.Part > s.Of) {
			t.Errorf("%q is %v", text, s)
		}
	})
}

// A slice is a part of the same run, so that its cases are that run's.
func TestSlice_LeavesTheIdentity(t *testing.T) {
	of := func(m Manifest) string {
		text, err := encode(encodeManifest(m))
		check(t, err)
		sum, err := identityOf(text)
		check(t, err)
		return sum
	}
	whole := sampleManifest()
	part := whole
	part.Slice = Slice{2, 3}
	part.CommandLine = append(slices.Clone(whole.CommandLine), "--slice", "2/3")
	if of(part) != of(whole) {
		t.Error("a slice is another run")
	}
	if !part.Restricted() || whole.Restricted() {
		t.Error("a slice is no whole run, or the whole is none")
	}
	text := func(m Manifest) string {
		b, err := encode(encodeManifest(m))
		check(t, err)
		return string(b)
	}
	if text(part.Whole()) != text(whole) {
		t.Errorf("the whole of a slice is\n%s", text(part.Whole()))
	}
	if line := part.CommandLine[len(part.CommandLine)-1]; line != "2/3" {
		t.Errorf("the slice's own command line now ends with %s", line)
	}
}
