package evidence

import (
	"encoding/json"
	"reflect"
	"testing"

	"haltmark/bench/verdict"
)

// fill gives every field of a struct a value that is not zero.
func fill(v reflect.Value) {
	for i := range v.NumField() {
		switch f := v.Field(i); f.Kind() {
		case reflect.String:
			f.SetString("at_most")
		case reflect.Float64:
			f.SetFloat(0.1 + float64(i))
		case reflect.Bool:
			f.SetBool(true)
		case reflect.Int, reflect.Int64:
			f.SetInt(int64(i%4 + 1))
		case reflect.Struct:
			fill(f)
		case reflect.Pointer:
			f.Set(reflect.New(f.Type().Elem()))
			fill(f.Elem())
		default:
			panic("a kind that the form may lose: " + f.Kind().String())
		}
	}
}

// No field of an outcome is lost in JSON, those to come included.
func TestOutcomeForm_KeepsEveryField(t *testing.T) {
	var want verdict.Outcome
	fill(reflect.ValueOf(&want).Elem())
	text, err := encode(encodeOutcome(&want))
	check(t, err)
	var form outcomeJSON
	check(t, json.Unmarshal(text, &form))
	got, err := form.outcome(true)
	check(t, err)
	same(t, want, got)
}
