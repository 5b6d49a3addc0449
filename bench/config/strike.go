package config

import (
	"fmt"
	"slices"
	"strings"
)

// Strike is a sentence by which a stop cause comes in the stop matrix, and where it can.
type Strike struct {
	Cause    string
	Say      string   // with {axis}, {end} and {number}
	Again    string   // the second time, where that is said otherwise
	In       string   // one of Occasions: what an axis must be doing
	Main     bool     // on a main axis alone
	Mode     string   // from this position of the mode selector alone; "" from any
	Except   []string // activities in which it cannot come
	Why      string   // of except
	Latching bool     // stays until it is reset
	Stows    bool     // has the antenna stowed
	Deaf     bool     // nobody is left who could be commanded
	Once     bool     // is over at once, though it is latched
	Strained bool     // brakes lock the gear under tension, and a second start may trip on that
	Answered []string // the requirements of its cause
}

// Words are its sentence of no axis in particular.
func (s *Strike) Words() string {
	generic := strings.NewReplacer("{axis}", "the axis", "{end}", "leading", "{number}", "1")
	return generic.Replace(s.Say)
}

// The occasions that a stop cause may need.
const (
	AtAnyTime  = "any_time"
	WithTorque = "with_torque"
	InMotion   = "in_motion"
	FastMotion = "fast_motion"
	ByHand     = "by_hand"
	ByCommand  = "by_command" // in motion, of the supervisory system
)

// Occasions lists them.
func Occasions() []string {
	return []string{AtAnyTime, WithTorque, InMotion, FastMotion, ByHand, ByCommand}
}

// strikeSection is one sentence of a cause in the cause table.
type strikeSection struct {
	Say    text  `yaml:"say"`
	Again  text  `yaml:"again,omitempty"`
	In     text  `yaml:"in"`
	Main   flag  `yaml:"main_axes,omitempty"`
	Mode   text  `yaml:"from,omitempty"`
	Deaf   flag  `yaml:"deaf,omitempty"`
	Once   flag  `yaml:"once,omitempty"`
	Strain flag  `yaml:"strained,omitempty"`
	Except words `yaml:"except,omitempty"`
	Why    text  `yaml:"why,omitempty"`
}

// readStrikes takes in by which sentences the causes of a table come.
func (set *Requirements) readStrikes(d *document, causes []causeSection, r *report) {
	for i := range causes {
		c := &causes[i]
		at := d.line(fmt.Sprintf("causes[%d]", i))
		if c.Category.set && (len(c.Strikes) == 0) == !c.Untried.set {
			r.add(d.file, at, "cause %s has both strikes and untried, or neither; say by which sentences "+
				"it comes in the stop matrix, or why it is not tried there", c.Cause.value)
		}
		for k := range c.Strikes {
			s := &c.Strikes[k]
			where := d.line(fmt.Sprintf("causes[%d].strikes[%d]", i, k))
			if !slices.Contains(Occasions(), s.In.value) {
				r.add(d.file, where, "cause %s comes in %q; need one of %v", c.Cause.value, s.In.value,
					Occasions())
			}
			if s.Why.set != (len(s.Except.values) > 0) {
				r.add(d.file, where, "cause %s: except and why stand together; give both or neither",
					c.Cause.value)
			}
			set.Strikes = append(set.Strikes, Strike{Cause: c.Cause.value, Say: s.Say.value,
				Again: either(s.Again, s.Say).value, In: s.In.value, Main: s.Main.value,
				Mode: s.Mode.value, Except: s.Except.values, Why: s.Why.value,
				Latching: c.Latching.value, Stows: c.Stows.value, Deaf: s.Deaf.value,
				Strained: s.Strain.value, Once: s.Once.value, Answered: c.answered()})
		}
		if c.Untried.set {
			set.Untried = append(set.Untried, Untried{c.Cause.value, c.Words.value, c.Untried.value})
		}
	}
}

// Untried is a stop cause that the stop matrix leaves out, and why.
type Untried struct{ Cause, Words, Why string }

// answered are the ids of the requirements of a cause.
func (c *causeSection) answered() []string {
	var ids []string
	for _, o := range []*owedSection{c.Time, c.Travel, c.Torque, c.Brakes, c.Stow, c.Report} {
		if o != nil && o.ID.set {
			ids = append(ids, o.ID.value)
		}
	}
	return ids
}
