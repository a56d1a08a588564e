package compare

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// target is the change of inertia that is worth finding when nobody said what was promised, relative.
const target = 0.10

// fewestAsked is the least number of free revs that is asked for: five are recommended, and one is lost.
const fewestAsked = 6

// adviseMore says what would settle an inconclusive comparison: more runs when the runs limit it, more sessions
// when the sessions do.
func (c *comparison) adviseMore() {
	r := c.ratio
	if c.blocked != nil {
		c.advise(c.blocked.Next())
		if c.blocked.Code != finding.CalibrationDiffers {
			c.advise(finding.New(finding.CalibrationDiffers).Next()) // what does not depend on the drag helps in every case
		}
		return
	}
	if r == nil {
		return
	}
	n := float64(len(r.runs)) / 2
	perRun := math.Sqrt(r.groups.Scale * 2 / (r.groups.Weight[0] + r.groups.Weight[1]) * n)
	session := math.Max(0, c.answer.variance-r.variance)
	if session > r.variance {
		u := math.Sqrt(session / 2)
		if need, ok := stats.RunsNeeded(math.Log1p(target), math.Hypot(u, perRun/math.Sqrt(n)), power, 60); ok {
			c.advise(finding.New(finding.MoreSessions, finding.Count("sessions", max(need, 2)),
				finding.Pct("change", 100*target)))
		}
		if !c.opt.Checklist {
			c.advise(finding.New(finding.KeepChecklist))
		}
		return
	}
	if need, ok := stats.RunsNeeded(math.Log1p(target), perRun, power, 400); ok {
		c.advise(finding.New(finding.MoreRevs, finding.Count("revs", max(need, fewestAsked)),
			finding.Pct("change", 100*target)))
	}
}
