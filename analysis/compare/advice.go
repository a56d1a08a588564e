package compare

import (
	"fmt"
	"math"

	"flywitness/analysis/practice"
	"flywitness/analysis/stats"
)

// target is the change of inertia that is worth finding when nobody said what was promised, relative.
const target = 0.10

// adviseMore says what would settle an inconclusive comparison: more runs when the runs limit it, more sessions when the
// sessions do.
func (c *comparison) adviseMore() {
	f, r := c.finding, c.ratio
	if c.blocked != "" {
		f.WhatToDrive = append(f.WhatToDrive, c.blockedNext())
		if other := practice.CalibrationDiffers; c.blockedBy != other {
			f.WhatToDrive = append(f.WhatToDrive, other.Next()) // what does not depend on the drag helps in every case
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
			f.WhatToDrive = append(f.WhatToDrive, fmt.Sprintf("%d sessions a side, each from its own start and warm-up, to show a change of %.0f %%", max(need, 2), 100*target))
		}
		if !c.opt.Checklist {
			f.WhatToDrive = append(f.WhatToDrive, "keep the checklist (consumers off, battery charged, 20 minutes driven, equal oil temperature) and record that you did")
		}
		return
	}
	if need, ok := stats.RunsNeeded(math.Log1p(target), perRun, power, 400); ok {
		f.WhatToDrive = append(f.WhatToDrive, fmt.Sprintf("%d free revs a side, to show a change of %.0f %%", max(need, 6), 100*target))
	}
}
