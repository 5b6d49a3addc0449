package evidence

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/parquet-go/parquet-go"

	"haltmark/bench/quantity"
	"haltmark/bench/record"
)

// The files of a record.
const (
	rawFile = "record.raw"
	// checksumsFile is in the form of sha256sum, so that "sha256sum -c" checks it.
	checksumsFile = "record.sha256"
	samplesFile   = "samples.parquet"
	edgesFile     = "edges.parquet"
	marksFile     = "marks.parquet"
	asksFile      = "asks.parquet"
)

// instantColumn is when: nanoseconds since the world's start, on every row.
const instantColumn = "at_ns"

// suffixes name the SI unit of a dimension in a column's name; a number without
// a unit has none. It is a table of constants.
var suffixes = [...]string{
	quantity.DimAngle:        "_rad",
	quantity.DimRate:         "_rad_per_s",
	quantity.DimAcceleration: "_rad_per_s2",
	quantity.DimJerk:         "_rad_per_s3",
	quantity.DimTorque:       "_Nm",
	quantity.DimInertia:      "_kg_m2",
	quantity.DimStiffness:    "_Nm_per_rad",
	quantity.DimDamping:      "_Nm_s_per_rad",
	quantity.DimEnergy:       "_J",
	quantity.DimSpeed:        "_m_per_s",
	quantity.DimFrequency:    "_Hz",
	quantity.DimLength:       "_m",
	quantity.DimRatio:        "_ratio",
	quantity.DimSpan:         "_s",
}

// columnName is a channel's name with part ("", "_min" or "_max") and unit.
func columnName(c record.Channel, part string) string {
	suffix := ""
	if d := int(c.Dimension); d >= 0 && d < len(suffixes) {
		suffix = suffixes[d]
	}
	return c.Name + part + suffix
}

// recordHead is kept in the samples file: what columns alone do not tell.
type recordHead struct {
	Hash      string        `json:"hash"`
	Truncated bool          `json:"truncated"`
	Channels  []channelHead `json:"channels"`
}

type channelHead struct {
	Name      string `json:"name"`
	Dimension string `json:"dimension"`
	Extremes  bool   `json:"extremes"`
}

// headKey is the key of the head among the file's metadata.
const headKey = "haltmark.record"

func headOf(rec *record.Record, hash string) (string, error) {
	h := recordHead{Hash: hash, Truncated: rec.Truncated}
	for _, c := range rec.Channels {
		h.Channels = append(h.Channels, channelHead{c.Name, c.Dimension.String(), c.Extremes})
	}
	text, err := json.Marshal(h)
	return string(text), err
}

// dimensionNamed finds a dimension by the name that it prints.
func dimensionNamed(name string) (quantity.Dimension, bool) {
	for d := quantity.DimNone; d <= quantity.DimSpan; d++ {
		if d.String() == name {
			return d, true
		}
	}
	return 0, false
}

// sampleColumns are the columns of the samples: instants, values, extremes.
func sampleColumns(rec *record.Record) []column {
	all := []column{instants(instantColumn, rec.At)}
	for i, c := range rec.Channels {
		all = append(all, doubles(columnName(c, ""), rec.Values(i)))
		if c.Extremes {
			all = append(all, doubles(columnName(c, "_min"), rec.Low(i)),
				doubles(columnName(c, "_max"), rec.High(i)))
		}
	}
	return all
}

// readSamples fills channels and samples in, and returns the hash that the record
// had when it was written.
func readSamples(t *table, rec *record.Record) (hash string, err error) {
	text, ok := t.lookup(headKey)
	if !ok {
		return "", fmt.Errorf("evidence: %s: not a record's samples", t.name)
	}
	var h recordHead
	if err := json.Unmarshal([]byte(text), &h); err != nil {
		return "", fmt.Errorf("evidence: %s: head: %w", t.name, err)
	}
	if t.meta.NumRows*3*int64(len(h.Channels)) > record.ValuesMax {
		return "", fmt.Errorf("evidence: %s: %w", t.name, record.ErrTooLong)
	}
	rec.Truncated = h.Truncated
	rec.At = t.instants(instantColumn)
	var values, low, high [][]float64
	for _, c := range h.Channels {
		d, known := dimensionNamed(c.Dimension)
		if !known {
			return "", fmt.Errorf("evidence: %s: unknown dimension %q", t.name, c.Dimension)
		}
		channel := record.Channel{Name: c.Name, Dimension: d, Extremes: c.Extremes}
		rec.Channels = append(rec.Channels, channel)
		values = append(values, t.doubles(columnName(channel, "")))
		if c.Extremes {
			low = append(low, t.doubles(columnName(channel, "_min")))
			high = append(high, t.doubles(columnName(channel, "_max")))
		}
	}
	rec.SetColumns(slices.Concat(values, low, high))
	return h.Hash, t.err
}

func instants(name string, at []time.Duration) column {
	return column{name, parquet.Int64Type, &parquet.DeltaBinaryPacked, len(at),
		func(i int) parquet.Value { return parquet.Int64Value(int64(at[i])) }}
}

func doubles(name string, values []float64) column {
	return column{name, parquet.DoubleType, &parquet.Plain, len(values),
		func(i int) parquet.Value { return parquet.DoubleValue(values[i]) }}
}
