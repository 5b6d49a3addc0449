package main

import (
	"cmp"
	"fmt"
	"strings"

	"haltmark/bench/campaign"
	"haltmark/bench/evidence"
	"haltmark/bench/standin"
	"haltmark/bench/verdict"
)

// closing prints the end of a run: what failed or stays open, the verdict, the
// caution and the folder.
func (c *console) closing(run *evidence.Run, folder *evidence.Folder) {
	for _, doubt := range run.Doubts {
		c.say("%s", doubt)
	}
	for i := range run.Standings {
		if st := &run.Standings[i]; st.Waived != nil {
			c.say("waived  %s: %s (until %s)", st.Requirement, st.Waived.Reason, st.Waived.Expires)
		}
	}
	for _, why := range run.Unused {
		c.say("without effect: %s", why)
	}
	for _, what := range run.Inapplicable {
		c.say("not applicable  %s", what)
	}
	for i := range run.Standings {
		c.standing(run, &run.Standings[i])
	}
	for _, one := range run.Cases {
		if one.Verdict != verdict.Pass && one.Verdict != verdict.Fail && one.Waived == "" {
			c.say("%s  %s:%d %s: %s", one.Verdict, one.Path, one.Line, one.Name, one.Reason)
		}
	}
	if run.Manifest.Defect == standin.Obstinate {
		c.removals(run, folder)
	}
	if line := campaign.Unended(run); line != "" {
		c.say("%s", line)
	}
	c.say("%s", verdictLine(run))
	c.say("%s", run.Records())
	if run.Manifest.StandIn {
		c.say("No controller of yours was tested: this was the stand-in.")
	}
	c.say(caution)
	c.say("Evidence: %s", folder.Path())
	c.say("Report:   %s", folder.Report())
}

// standing prints a requirement that is not met, or not shown to be.
func (c *console) standing(run *evidence.Run, st *verdict.Standing) {
	if st.Waived != nil || st.Verdict.ExitCode() == verdict.ExitPass {
		return
	}
	statement := ""
	for _, q := range run.Requirements {
		if q.ID == st.Requirement {
			statement = strings.Join(strings.Fields(q.Statement), " ")
		}
	}
	line := fmt.Sprintf("%s  %s  %s", st.Verdict, st.Requirement, statement)
	if o := st.Worst; o != nil && o.Measured {
		line += fmt.Sprintf(" Margin %s", campaign.Value(o, o.Margin))
		if o.Axis != "" {
			line += " on " + o.Axis
		}
		line += fmt.Sprintf(" (%s, limit %s)", campaign.Value(o, o.Value), campaign.Value(o, o.Limit))
	}
	if st.Worst != nil && st.Worst.Reason != "" {
		line += "; " + st.Worst.Reason
	}
	if one := campaign.WorstCase(run, st); one != nil {
		line += fmt.Sprintf("; in %q (%s:%d)", one.Name, one.Path, one.Line)
	}
	c.say("%s", line)
}

// removals prints, for each reaction of the controller that failed, the path that
// first took the torque away.
func (c *console) removals(run *evidence.Run, folder *evidence.Folder) {
	for i, q := range run.Requirements {
		st := &run.Standings[i]
		if st.Verdict != verdict.Fail || q.Kind != verdict.Reaction || q.Answers != verdict.Controller {
			continue
		}
		one := campaign.WorstCase(run, st)
		if one == nil {
			continue
		}
		rec, err := folder.WorstRecord(one)
		if err != nil || rec == nil {
			continue // what there is of it is told elsewhere
		}
		axis := cmp.Or(st.Worst.Axis, one.Plot.Axis)
		by, _ := verdict.TorqueRemovedBy(rec, axis, st.Worst.From)
		c.say("%s: the torque of %s was first removed by %s", q.ID, axis, by)
	}
}

// verdictLine is the run in one line.
func verdictLine(run *evidence.Run) string {
	counts := map[verdict.Verdict]int{}
	for i := range run.Cases {
		counts[run.Cases[i].Verdict]++
	}
	met, asked := 0, 0
	for i := range run.Standings {
		switch run.Standings[i].Verdict {
		case verdict.NotSelected:
			continue
		case verdict.Pass:
			met++
		}
		asked++
	}
	line := fmt.Sprintf("%s: %d of %d requirements met, %d of %d scenarios passed",
		strings.ToUpper(run.Verdict.String()), met, asked, counts[verdict.Pass], len(run.Cases))
	switch s := run.Manifest.Slice.String(); {
	case s != "":
		line += " (partial run, slice " + s + ")"
	case run.Manifest.Partial:
		line += " (partial run)"
	}
	return fmt.Sprintf("%s; exit code %d", line, run.ExitCode)
}
