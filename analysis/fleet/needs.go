package fleet

import (
	"math"
	"time"

	"flywitness/finding"
)

// beddedInAfter is how long after a job the kilometres of bedding-in are taken as driven. Common practice, no source.
const beddedInAfter = 30 * 24 * time.Hour

// needs lists what somebody should see to, what is urgent first. list is the entries since the last work.
func needs(v Vehicle, list []Entry, opt Options) (out []Need) {
	add := func(urgent bool, code finding.Code, values ...finding.Value) {
		out = append(out, Need{Code: code, Urgent: urgent, Message: finding.Say(finding.New(code, values...))})
	}
	last, age := v.Last, opt.Now.Sub(v.Last.Time)
	if e := lost(list); e != nil {
		add(true, finding.LostCapacity, finding.Torque("held", e.Held.Value), finding.Day("day", e.Time),
			finding.Torque("onset", last.Onset.Value))
	} else if last.Slip == "slips" {
		add(true, finding.SlipsSince, finding.Day("day", last.Time))
	}
	if d := v.Drift; d != nil && d.Confirmed {
		add(true, finding.InertiaDrifts, finding.Pct("change", d.Change), finding.Count("jobs", d.Jobs))
	}
	switch {
	case last.Slip == "inconclusive" && last.BeddingIn && age > beddedInAfter:
		add(false, finding.FullLoadDue, finding.Day("day", last.Time))
	case last.Slip == "inconclusive" && !last.BeddingIn:
		add(false, finding.NotTold, finding.Day("day", last.Time))
	}
	if age > opt.Due {
		add(false, finding.Overdue, finding.Day("day", last.Time), finding.Count("days", int(math.Round(age.Hours()/24))))
	}
	return out
}
