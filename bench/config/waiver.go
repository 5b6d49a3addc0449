package config

import (
	"fmt"
	"strings"

	"haltmark/bench/verdict"
)

// waiversFile is the form of a file of waivers.
type waiversFile struct {
	Waivers []waiverSection `yaml:"waivers"`
}

type waiverSection struct {
	Requirement text `yaml:"requirement"`
	Reason      text `yaml:"reason"`
	Expires     text `yaml:"expires"`
}

// LoadWaivers loads a file of waivers. There are no embedded ones: a waiver is a
// decision of somebody about their own station.
func LoadWaivers(name string) ([]verdict.Waiver, File, error) {
	f, err := openPath(name)
	if err != nil {
		return nil, File{}, err
	}
	r := &report{}
	var form waiversFile
	d := decode(f, &form, r)
	var all []verdict.Waiver
	for i, w := range form.Waivers {
		one := verdict.Waiver{Requirement: w.Requirement.value, Reason: w.Reason.value,
			Expires: w.Expires.value}
		if err := one.Check(); err != nil && len(r.found) == 0 {
			r.add(f, d.line(fmt.Sprintf("waivers[%d]", i)), "%s; mend it",
				strings.TrimPrefix(err.Error(), "verdict: "))
		}
		all = append(all, one)
	}
	return all, f.summary(), r.err()
}
