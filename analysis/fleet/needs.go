package fleet

import (
	"fmt"
	"time"
)

// Codes of what a vehicle needs.
const (
	Slips        = "slips"
	LostCapacity = "lost_capacity"
	NotTold      = "inconclusive"
	BeddedIn     = "full_load_due"
	Overdue      = "overdue"
	Drifts       = "inertia_drifts"
)

// beddedInAfter is how long after a job the kilometres of bedding-in are taken as driven. Common practice, no source.
const beddedInAfter = 30 * 24 * time.Hour

// needs lists what somebody should see to, what is urgent first. list is the entries since the last work.
func needs(v Vehicle, list []Entry, opt Options) (out []Need) {
	add := func(code string, urgent bool, format string, args ...any) {
		out = append(out, Need{Code: code, Urgent: urgent, Message: fmt.Sprintf(format, args...)})
	}
	last, age := v.Last, opt.Now.Sub(v.Last.Time)
	if e := lost(list); e != nil {
		add(LostCapacity, true, "The clutch held %.0f N m on %s and slips from %.0f N m now, with the same parts.",
			e.Held.Value, day(e.Time), last.Onset.Value)
	} else if last.Slip == "slips" {
		add(Slips, true, "The clutch slips under load since %s at the latest.", day(last.Time))
	}
	if d := v.Drift; d != nil && d.Confirmed {
		add(Drifts, true, "The rotating inertia changed by %+.1f %% over %d jobs with the same parts: "+
			"something turns with the engine that did not, or the measurement changed.", d.Change, d.Jobs)
	}
	switch {
	case last.Slip == "inconclusive" && last.BeddingIn && age > beddedInAfter:
		add(BeddedIn, false, "The clutch was still bedding in on %s: the pulls at full load are due.", day(last.Time))
	case last.Slip == "inconclusive" && !last.BeddingIn:
		add(NotTold, false, "Whether the clutch holds could not be told on %s.", day(last.Time))
	}
	if age > opt.Due {
		add(Overdue, false, "The last job was on %s, %.0f days ago: a drive is due.", day(last.Time), age.Hours()/24)
	}
	return out
}

func day(t time.Time) string { return t.Format("2006-01-02") }
