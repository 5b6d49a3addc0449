package scenario

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"haltmark/bench/nearest"
	"haltmark/bench/plant"
	"haltmark/bench/quantity"
	"haltmark/bench/station"
	"haltmark/emulators/interlock"
)

// Phrase is one form of sentence.
type Phrase struct {
	Keyword Keyword
	Pattern string // literal words, with {placeholders} for values
	About   string // what it does or measures, for `haltmark phrases`
	Does    action
	Asks    []question // of a Then
	// Lacks tells what a station lacks that the sentence is about; nil is never anything.
	Lacks  func(*station.Parameters, Words) string
	Masted bool // what it does is told by the mast, once a second

	checks     []check
	expression *regexp.Regexp
	values     []placeholder
}

// action carries a sentence out. An error says why the world did not come to be
// as the sentence says; it makes the run inconclusive, never failed.
type action func(w *World, is Words) error

// Words are the values in one sentence, in SI units.
type Words struct {
	Axis     plant.Axis
	End      int // 0 lower, 1 upper
	NamesEnd bool
	Angle    quantity.Angle
	Rate     quantity.Rate
	Span     time.Duration
	Number   int
	Mode     interlock.Mode
	Access   string
	Sense    string // outward or inward
	Share    float64
	Torque   quantity.Torque
	Speed    quantity.Speed // of a wind
	Wind     string         // mean or gust, a limit for stowing
	Fault    string         // of the catalogue
	Target   string         // of that fault
	Settings []string       // parameters of that fault, name and text in turn
	Activity string         // in the words of Activities
	State    string         // in which a command must be refused
	Order    string         // a command to move
}

// placeholder is the form of one kind of value and how it is read.
type placeholder struct {
	name, form string
	units      string // of a measured one
	read       func(w *Words, text string) error
}

// measured is a number and whatever follows it in the place of its unit, so that
// a missing or a wrong unit is told as one.
const measured = `[-+]?[0-9.]+(?: ?[^\s0-9.]\S*)?`

// placeholders lists every kind of value a sentence may hold.
func placeholders() []placeholder {
	return []placeholder{
		{"axis", strings.Join(plant.AxisWords[:], "|"), "", readAxis},
		{"end", strings.Join(plant.EndNames[:], "|"), "", readEnd},
		{"angle", measured, "deg or rad", readAngle},
		{"rate", measured, "deg/s, rad/s or rpm", readRate},
		{"span", measured, "us, ms, s, min or h", readSpan},
		{"number", `[0-9]+`, "", readNumber},
		{"mode", strings.Join(interlock.ModeNames[:], "|"), "", readMode},
		{"access", `hatch|ladder|stow pin`, "", word(func(w *Words) *string { return &w.Access })},
		{"sense", `outward|inward`, "", word(func(w *Words) *string { return &w.Sense })},
		{"share", `full|half|a quarter of full|a tenth of full`, "", readShare},
		{"part", `four fifths|half|a quarter|a tenth`, "", readPart},
		{"torque", measured + `(?: m)?`, "N m, kN m or MN m", readTorque},
		{"speed", measured, "m/s", readSpeed},
		{"fault", `[a-z_0-9]+`, "", word(func(w *Words) *string { return &w.Fault })},
		{"target", `[a-z_0-9.]+`, "", word(func(w *Words) *string { return &w.Target })},
		{"settings", `[a-z_]+ [^,]+(?:, [a-z_]+ [^,]+)*`, "", readSettings},
		{"wind", `mean|gust`, "", word(func(w *Words) *string { return &w.Wind })},
		{"activity", strings.Join(activityWords(), "|"), "",
			word(func(w *Words) *string { return &w.Activity })},
		{"state", strings.Join(stateWords(), "|"), "", word(func(w *Words) *string { return &w.State })},
		{"order", strings.Join(orderWords(), "|"), "", word(func(w *Words) *string { return &w.Order })},
	}
}

// word keeps the text as it stands.
func word(of func(*Words) *string) func(*Words, string) error {
	return func(w *Words, text string) error { *of(w) = text; return nil }
}

func readAxis(w *Words, text string) error {
	w.Axis = plant.Axis(slices.Index(plant.AxisWords[:], text))
	return nil
}

func readMode(w *Words, text string) error {
	w.Mode, _ = interlock.ModeNamed(text)
	return nil
}

func readEnd(w *Words, text string) error {
	w.End, w.NamesEnd = slices.Index(plant.EndNames[:], text), true
	return nil
}

func readAngle(w *Words, text string) (err error) {
	w.Angle, err = quantity.ParseAngle(text)
	return err
}

func readRate(w *Words, text string) (err error) {
	w.Rate, err = quantity.ParseRate(text)
	return err
}

func readSpan(w *Words, text string) (err error) {
	w.Span, err = quantity.ParseSpan(text)
	return err
}

func readTorque(w *Words, text string) (err error) {
	w.Torque, err = quantity.ParseTorque(text)
	return err
}

func readSpeed(w *Words, text string) (err error) {
	w.Speed, err = quantity.ParseSpeed(text)
	return err
}

func readNumber(w *Words, text string) (err error) {
	if w.Number, err = strconv.Atoi(text); err != nil {
		return errors.New("too large a number")
	}
	return nil
}

func readSettings(w *Words, text string) error {
	for one := range strings.SplitSeq(text, ", ") {
		name, value, _ := strings.Cut(one, " ")
		w.Settings = append(w.Settings, name, value)
	}
	return nil
}

func readShare(w *Words, text string) error {
	w.Share = map[string]float64{
		"full": 1, "half": 0.5, "a quarter of full": 0.25, "a tenth of full": 0.1,
	}[text]
	return nil
}

func readPart(w *Words, text string) error {
	w.Share = map[string]float64{
		"four fifths": 0.8, "half": 0.5, "a quarter": 0.25, "a tenth": 0.1,
	}[text]
	return nil
}

var hole = regexp.MustCompile(`\{([a-z]+)\}`)

// compile turns the pattern into an expression with a group for each value.
func (p *Phrase) compile() {
	known := map[string]placeholder{}
	for _, h := range placeholders() {
		known[h.name] = h
	}
	text := "^"
	rest := p.Pattern
	for {
		at := hole.FindStringSubmatchIndex(rest)
		if at == nil {
			break
		}
		name := rest[at[2]:at[3]]
		if known[name].form == "" {
			panic("scenario: phrase with an unknown value {" + name + "}: " + p.Pattern)
		}
		text += regexp.QuoteMeta(rest[:at[0]]) + "(" + known[name].form + ")"
		p.values = append(p.values, known[name])
		rest = rest[at[1]:]
	}
	p.expression = regexp.MustCompile(text + regexp.QuoteMeta(rest) + "$")
}

// read returns the values in a sentence that has the phrase's form.
func (p *Phrase) read(text string) (w Words, ok bool, err error) {
	groups := p.expression.FindStringSubmatch(text)
	if groups == nil {
		return w, false, nil
	}
	for i, v := range p.values {
		if err := v.read(&w, groups[i+1]); err != nil {
			return w, true, fmt.Errorf("%q: %w", groups[i+1], err)
		}
	}
	return w, true, nil
}

// check finds the first value that the phrase can mean nothing by.
func (p *Phrase) check(is Words) error {
	for _, one := range p.checks {
		if err := one(is); err != nil {
			return err
		}
	}
	return nil
}

// match finds the phrase of a sentence.
func match(keyword Keyword, text string) (*Phrase, Words, error) {
	for _, p := range Phrases() {
		w, ok, err := p.read(text)
		if !ok {
			continue
		}
		if p.Keyword != keyword {
			return nil, w, fmt.Errorf("%q is a %v, and stands here as a %v", text, p.Keyword, keyword)
		}
		if err == nil {
			err = p.check(w)
		}
		return p, w, err
	}
	return nil, Words{}, fmt.Errorf("no phrase says %q; nearest: %s %s",
		text, keyword, nearestPattern(keyword, text))
}

// nearestPattern is the one that shares most with a sentence.
func nearestPattern(keyword Keyword, text string) string {
	best, least := "", 1<<30
	for _, p := range Phrases() {
		if p.Keyword != keyword {
			continue
		}
		d := nearest.Distance(strings.Fields(text), strings.Fields(p.Pattern), changeOfWord)
		if d < least {
			best, least = p.Pattern, d
		}
	}
	return best
}

// changeOfWord is as much as removing one and inserting the other; a placeholder stands for
// any one word.
func changeOfWord(from, to string) int {
	if from == to || strings.HasPrefix(to, "{") {
		return 0
	}
	return 2
}
