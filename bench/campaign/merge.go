package campaign

import (
	"errors"
	"fmt"
	"strings"

	"haltmark/bench/evidence"
)

// Merge joins the folders of a plan's slices into a folder below out, which is then the
// one that the whole plan would have left, but for what Folder.Finish writes. What
// belongs to another run than the first folder, what several folders have, and a folder
// without a seal are left out: the run is then not decided.
func Merge(dirs []string, out string, host evidence.Host) (
	*evidence.Folder, evidence.Run, error,
) {
	var run evidence.Run
	all, err := openSlices(dirs)
	if err != nil {
		return nil, run, err
	}
	m := all[0].Manifest().Whole()
	st, set, waivers, err := copiesOf(all[0])
	if err != nil {
		return nil, run, err
	}
	folder, err := evidence.Create(out, m, host)
	if err != nil {
		return nil, run, err
	}
	var cases []evidence.Case
	var doubts []string
	if err = folder.TakeFixtures(all[0]); err == nil {
		cases, doubts, err = joinCases(folder, all)
	}
	if errors.Is(err, evidence.ErrNotRegular) {
		return nil, run, BadInput{err.Error()}
	} else if err != nil {
		return nil, run, err
	}
	parameters := st.Station()
	_, lacks, err := applicableIn(folder, set, &parameters)
	if err != nil {
		return nil, run, err
	}
	run = Total(m, lacks.from(set.For(st)), cases, waivers)
	run.Coverage, run.Inapplicable = Coverage(set, run.Cases), lacks.lines()
	if len(doubts) > 0 {
		leaveOpen(&run, doubts...)
	}
	for i := range run.Cases {
		// Only the whole run tells which cases are waived.
		if c := &run.Cases[i]; !c.Unended {
			err = errors.Join(err, folder.FinishCase(c))
		}
	}
	return folder, run, err
}

// openSlices opens the folders of slices.
func openSlices(dirs []string) ([]*evidence.Folder, error) {
	var all []*evidence.Folder
	var bad BadInput
	for _, dir := range dirs {
		f, err := evidence.Open(dir)
		switch {
		case errors.Is(err, evidence.ErrNotRun):
			bad = append(bad, err.Error())
		case err != nil:
			return nil, err
		case f.Manifest().Slice == (evidence.Slice{}):
			bad = append(bad, dir+": is the folder of no slice; it was not run with --slice")
		default:
			all = append(all, f)
		}
	}
	if bad != nil {
		return nil, bad
	}
	return all, nil
}

// joinCases copies into a folder the cases that exactly one of the folders has, judged anew
// and in order of number, and says what it left out.
func joinCases(to *evidence.Folder, from []*evidence.Folder) ([]evidence.Case, []string, error) {
	type found struct {
		in *evidence.Folder
		c  evidence.Case
	}
	var doubts []string
	has := map[int][]found{}
	for _, f := range from {
		if !f.SameRun(to) {
			doubts = append(doubts, fmt.Sprintf("%s is left out: it is a slice of another run than %s: %s",
				f.Path(), from[0].Path(), difference(from[0].Manifest(), f.Manifest())))
			continue
		}
		_, part, err := Rejudge(f.Path())
		if err != nil {
			return nil, nil, err
		}
		if part.Doubts != nil {
			doubts = append(doubts, f.Path()+" is left out: "+strings.Join(part.Doubts, "; "))
			continue
		}
		for _, c := range part.Cases {
			if !c.Unended {
				has[c.Number] = append(has[c.Number], found{f, c})
			}
		}
	}
	var all []evidence.Case
	for _, p := range to.Manifest().Scenarios {
		switch who := has[p.Number]; len(who) {
		case 0:
		case 1:
			if err := to.TakeCase(who[0].in, &who[0].c); err != nil {
				return nil, nil, err
			}
			all = append(all, who[0].c)
		default:
			doubts = append(doubts, fmt.Sprintf("scenario %d is left out: it is in %s and in %s",
				p.Number, who[0].in.Path(), who[1].in.Path()))
		}
	}
	return all, doubts, nil
}

// difference says in what two runs differ.
func difference(a, b evidence.Manifest) string {
	var in []string
	for _, one := range []struct {
		what string
		a, b any
	}{
		{"build", a.Build, b.Build}, {"seed", a.Seed, b.Seed}, {"date", a.Date, b.Date},
		{"station", a.Station, b.Station}, {"controller", a.Controller, b.Controller},
		{"defect", a.Defect, b.Defect}, {"clock", a.Clock, b.Clock}, {"tags", a.Tags, b.Tags},
		{"phases", a.Phases, b.Phases}, {"plant step", a.Step, b.Step},
		{"command", a.Command, b.Command},
	} {
		if one.a != one.b {
			in = append(in, fmt.Sprintf("%s %v, not %v", one.what, orNone(one.b), orNone(one.a)))
		}
	}
	if in == nil {
		return "other fixtures or scenarios"
	}
	return strings.Join(in, "; ")
}

func orNone(what any) any {
	if what == "" {
		return "none"
	}
	return what
}
