package compare

import (
	"fmt"
	"math"

	"flywitness/analysis/stats"
)

// LnRatio returns the standard deviation of ln(inertia before over after) and its degrees of freedom from sessions a side of runs free revs each, whose runs
// scatter by perRun and whose drag differs by sessionSD from sitting to sitting, relative. One session a side has to take that spread as told; several measure it
// beside what is usual: the variance is 2 (sessionSD^2 / m + perRun^2 / (m n)), with 2m-2 degrees of freedom and those that the usual spread is worth for m > 1.
func LnRatio(sessions, runs int, perRun, sessionSD float64) (sd, df float64) {
	m, n := float64(sessions), float64(runs)
	own := 2 * perRun * perRun / (m * n)
	between := 2 * sessionSD * sessionSD / m
	df = 2*m - 2 + priorSessions
	if sessions == 1 {
		df = stats.Satterthwaite([]float64{own, between}, []float64{math.Max(1, 2*n-2), math.Inf(1)})
	}
	return math.Sqrt(own + between), df
}

// SameWithin returns the smallest equivalence margin (relative) within which so many sessions show that nothing changed, four times in five when nothing did: the
// 95 % interval must lie inside, wherever in its own scatter the middle falls.
func SameWithin(sessions, runs int, perRun, sessionSD float64) float64 {
	sd, df := LnRatio(sessions, runs, perRun, sessionSD)
	return math.Expm1(sd * (stats.TQuantile(0.975, df) + stats.TQuantile(0.5+power/2, df)))
}

// MostSessions is more than anybody drives.
const MostSessions = 30

// SessionsForNoChange returns the fewest sessions a side that show sameness within a margin; ok is false beyond MostSessions.
func SessionsForNoChange(margin float64, runs int, perRun, sessionSD float64) (m int, ok bool) {
	for m = 1; m <= MostSessions; m++ {
		if SameWithin(m, runs, perRun, sessionSD) <= margin {
			return m, true
		}
	}
	return MostSessions, false
}

// adviseSame says what would earn "did not change": sittings at the margin that is asked for, or the margin that so many sittings can have.
func (c *comparison) adviseSame() {
	r := c.ratio
	if r == nil {
		return
	}
	mean, _ := r.sessionMeans()
	sessions := max(1, min(len(mean[0]), len(mean[1])))
	runs := max(minRuns, len(r.runs)/max(1, len(mean[0])+len(mean[1])))
	perRun := math.Sqrt(stats.Square(r.groups.Tau) + stats.Median(r.s2))
	u := SessionSpread(c.opt.Checklist)
	now := SameWithin(sessions, runs, perRun, u)
	text := fmt.Sprintf("to show that nothing changed within the margin of %.3g %%: ", 100*c.opt.margin())
	if need, ok := SessionsForNoChange(c.opt.margin(), runs, perRun, u); ok {
		text += fmt.Sprintf("about %d sittings a side of %d free revs, each from its own start", max(need, sessions+1), runs)
	} else {
		text += fmt.Sprintf("more than %d sittings a side, which nobody drives", MostSessions)
	}
	c.finding.WhatToDrive = append(c.finding.WhatToDrive, text+fmt.Sprintf("; %s a side can show it within about %.0f %%, if that margin is set before the drive",
		sittings(sessions), math.Ceil(100*now)))
	c.adviseHeld(runs, perRun)
}

func sittings(n int) string {
	if n == 1 {
		return "one sitting"
	}
	return fmt.Sprintf("%d sittings", n)
}
