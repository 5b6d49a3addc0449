package evidence

import (
	"fmt"
	"slices"
)

// Slice is one of the parts that a plan is cut into, so that several machines share it:
// case after case in turn. The zero value is the whole plan.
type Slice struct{ Part, Of int }

// slicesMax bounds the parts of a plan.
const slicesMax = 1000

// ParseSlice reads a slice such as 2/5; "" is the whole.
func ParseSlice(text string) (Slice, error) {
	var s Slice
	if text == "" {
		return s, nil
	}
	_, err := fmt.Sscanf(text, "%d/%d", &s.Part, &s.Of)
	if err != nil || s.String() != text || s.Part < 1 || s.Part > s.Of || s.Of > slicesMax {
		return Slice{}, fmt.Errorf("%q is not a slice; write PART/PARTS such as 2/5, with at most %d "+
			"parts", text, slicesMax)
	}
	return s, nil
}

// String is the slice as it is given; "" for the whole.
func (s Slice) String() string {
	if s == (Slice{}) {
		return ""
	}
	return fmt.Sprintf("%d/%d", s.Part, s.Of)
}

// Has reports whether the case of a number is in the slice.
func (s Slice) Has(number int) bool { return s.Of == 0 || (number-1)%s.Of == s.Part-1 }

// Own lists what the run itself sets out to try of the plan.
func (m Manifest) Own() []Planned {
	return slices.DeleteFunc(slices.Clone(m.Scenarios), func(p Planned) bool {
		return !m.Slice.Has(p.Number)
	})
}

// Restricted reports whether the run leaves out some of what there is.
func (m Manifest) Restricted() bool { return m.Partial || m.Slice != (Slice{}) }

// Whole is the manifest of the run that the slice was cut from.
func (m Manifest) Whole() Manifest {
	m.Slice = Slice{}
	if i := slices.Index(m.CommandLine, sliceFlag); i >= 0 && i+2 <= len(m.CommandLine) {
		m.CommandLine = slices.Delete(slices.Clone(m.CommandLine), i, i+2)
	}
	return m
}

// sliceFlag names the slice on a command line.
const sliceFlag = "--slice"
