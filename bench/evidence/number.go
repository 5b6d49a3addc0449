package evidence

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"time"

	"haltmark/bench/quantity"
	"haltmark/bench/verdict"
)

// number is a float64 in JSON, which has no word for what is not finite.
type number float64

// MarshalJSON gives "inf", "-inf" and "nan" as text.
func (n number) MarshalJSON() ([]byte, error) {
	switch v := float64(n); {
	case math.IsNaN(v):
		return []byte(`"nan"`), nil
	case math.IsInf(v, 1):
		return []byte(`"inf"`), nil
	case math.IsInf(v, -1):
		return []byte(`"-inf"`), nil
	default:
		return json.Marshal(v)
	}
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (n *number) UnmarshalJSON(text []byte) error {
	var word string
	if json.Unmarshal(text, &word) == nil {
		v, err := strconv.ParseFloat(word, 64)
		*n = number(v)
		return err
	}
	var v float64
	err := json.Unmarshal(text, &v)
	*n = number(v)
	return err
}

// span is an instant or a length in JSON: seconds, exact to the nanosecond up to
// months.
type span time.Duration

// MarshalJSON gives seconds.
func (s span) MarshalJSON() ([]byte, error) {
	return json.Marshal(time.Duration(s).Seconds())
}

// UnmarshalJSON reads seconds.
func (s *span) UnmarshalJSON(text []byte) error {
	var v float64
	if err := json.Unmarshal(text, &v); err != nil {
		return err
	}
	const longest = math.MaxInt64 / float64(time.Second)
	if math.Abs(v) >= longest {
		return fmt.Errorf("%g s is no time of a run", v)
	}
	*s = span(math.Round(v * float64(time.Second)))
	return nil
}

// word is a verdict in JSON, as it prints.
type word verdict.Verdict

// MarshalJSON gives the verdict in words.
func (w word) MarshalJSON() ([]byte, error) {
	return json.Marshal(verdict.Verdict(w).String())
}

// UnmarshalJSON reads the words.
func (w *word) UnmarshalJSON(text []byte) error {
	var name string
	if err := json.Unmarshal(text, &name); err != nil {
		return err
	}
	for v := verdict.Pass; v <= verdict.BenchFailed; v++ {
		if v.String() == name {
			*w = word(v)
			return nil
		}
	}
	return fmt.Errorf("no verdict is named %q", name)
}

// siUnit names the SI unit of a dimension in the fixed spelling; empty without.
func siUnit(d quantity.Dimension) string {
	names := [...]string{
		quantity.DimAngle: "rad", quantity.DimRate: "rad/s", quantity.DimAcceleration: "rad/s^2",
		quantity.DimJerk: "rad/s^3", quantity.DimTorque: "N m", quantity.DimInertia: "kg m^2",
		quantity.DimStiffness: "N m/rad", quantity.DimDamping: "N m s/rad",
		quantity.DimEnergy: "J", quantity.DimSpeed: "m/s", quantity.DimFrequency: "Hz",
		quantity.DimLength: "m", quantity.DimRatio: "", quantity.DimSpan: "s",
	}
	if d < 0 || int(d) >= len(names) {
		return ""
	}
	return names[d]
}
