package evidence

import (
	"time"

	"github.com/parquet-go/parquet-go"

	"haltmark/bench/record"
)

func integers(name string, rows int, at func(i int) int64) column {
	return column{name, parquet.Int64Type, &parquet.DeltaBinaryPacked, rows,
		func(i int) parquet.Value { return parquet.Int64Value(at(i)) }}
}

func texts(name string, rows int, at func(i int) string) column {
	return column{name, parquet.ByteArrayType, &parquet.RLEDictionary, rows,
		func(i int) parquet.Value { return parquet.ByteArrayValue([]byte(at(i))) }}
}

func edgeColumns(all []record.Edge) []column {
	n := len(all)
	return []column{
		integers(instantColumn, n, func(i int) int64 { return int64(all[i].At) }),
		texts("channel", n, func(i int) string { return all[i].Channel }),
		integers("value", n, func(i int) int64 { return all[i].Value }),
	}
}

func readEdges(t *table) []record.Edge {
	at, channel, value := t.instants(instantColumn), t.texts("channel"), t.integers("value")
	if t.err != nil {
		return nil
	}
	all := make([]record.Edge, len(at))
	for i := range all {
		all[i] = record.Edge{At: at[i], Channel: channel[i], Value: value[i]}
	}
	return all
}

func markColumns(all []record.Mark) []column {
	n := len(all)
	return []column{
		integers(instantColumn, n, func(i int) int64 { return int64(all[i].At) }),
		texts("kind", n, func(i int) string { return all[i].Kind }),
		texts("name", n, func(i int) string { return all[i].Name }),
		texts("axis", n, func(i int) string { return all[i].Axis }),
		texts("text", n, func(i int) string { return all[i].Text }),
	}
}

func readMarks(t *table) []record.Mark {
	at, kind, name := t.instants(instantColumn), t.texts("kind"), t.texts("name")
	axis, text := t.texts("axis"), t.texts("text")
	if t.err != nil {
		return nil
	}
	all := make([]record.Mark, len(at))
	for i := range all {
		all[i] = record.Mark{At: at[i], Kind: kind[i], Name: name[i], Axis: axis[i], Text: text[i]}
	}
	return all
}

// askText is one text column of the asks.
type askText struct {
	name  string
	field func(*record.Ask) *string
}

func askTexts() []askText {
	return []askText{
		{"requirement", func(a *record.Ask) *string { return &a.Requirement }},
		{"axis", func(a *record.Ask) *string { return &a.Axis }},
		{"end", func(a *record.Ask) *string { return &a.End }},
		{"item", func(a *record.Ask) *string { return &a.Item }},
		{"cause", func(a *record.Ask) *string { return &a.Cause }},
		{"text", func(a *record.Ask) *string { return &a.Text }},
	}
}

// askColumns are the columns of the asks. A limit is SI of the requirement's
// quantity, which differs from row to row.
func askColumns(all []record.Ask) []column {
	n := len(all)
	limits := make([]float64, n)
	for i, a := range all {
		limits[i] = a.Limit
	}
	columns := []column{
		integers(instantColumn, n, func(i int) int64 { return int64(all[i].At) }),
		integers("from_ns", n, func(i int) int64 { return int64(all[i].From) }),
		integers("until_ns", n, func(i int) int64 { return int64(all[i].Until) }),
		doubles("limit_si", limits),
		integers("tightened", n, func(i int) int64 {
			if all[i].Tightened {
				return 1
			}
			return 0
		}),
	}
	for _, text := range askTexts() {
		columns = append(columns, texts(text.name, n, func(i int) string {
			return *text.field(&all[i])
		}))
	}
	return columns
}

func readAsks(t *table) []record.Ask {
	at, from, until := t.instants(instantColumn), t.instants("from_ns"), t.instants("until_ns")
	limit, tightened := t.doubles("limit_si"), t.integers("tightened")
	all := make([]record.Ask, len(at))
	for _, text := range askTexts() {
		for i, s := range t.texts(text.name) {
			*text.field(&all[i]) = s
		}
	}
	if t.err != nil {
		return nil
	}
	for i := range all {
		a := &all[i]
		a.At, a.From, a.Until = at[i], from[i], until[i]
		a.Limit, a.Tightened = limit[i], tightened[i] == 1
	}
	return all
}

func durations(values []int64) []time.Duration {
	all := make([]time.Duration, len(values))
	for i, v := range values {
		all[i] = time.Duration(v)
	}
	return all
}
