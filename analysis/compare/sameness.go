package compare

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// LnRatio returns the standard deviation of ln(inertia before over after) and its degrees of freedom from
// sessions a side of runs free revs each, whose runs scatter by perRun and whose drag differs by sessionSD from
// sitting to sitting, relative. One session a side has to take that spread as told; several measure it beside
// what is usual: the variance is 2 (sessionSD^2 / m + perRun^2 / (m n)), with 2m-2 degrees of freedom and those
// that the usual spread is worth for m > 1.
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

// SameWithin returns the smallest equivalence margin (relative) within which so many sessions show that nothing
// changed, four times in five when nothing did: the 95 % interval must lie inside, wherever in its own scatter
// the middle falls.
func SameWithin(sessions, runs int, perRun, sessionSD float64) float64 {
	sd, df := LnRatio(sessions, runs, perRun, sessionSD)
	return math.Expm1(sd * (stats.TQuantile(0.975, df) + stats.TQuantile(0.5+power/2, df)))
}

// MostSessions is more than anybody drives.
const MostSessions = 30

// SessionsForNoChange returns the fewest sessions a side that show sameness within a margin; ok is false beyond
// MostSessions.
func SessionsForNoChange(margin float64, runs int, perRun, sessionSD float64) (m int, ok bool) {
	for m = 1; m <= MostSessions; m++ {
		if SameWithin(m, runs, perRun, sessionSD) <= margin {
			return m, true
		}
	}
	return MostSessions, false
}

// adviseSame says what would earn "did not change": sittings at the margin that is asked for, or the margin
// that so many sittings can have.
func (c *comparison) adviseSame() {
	r := c.ratio
	if r == nil {
		return
	}
	mean, _ := r.sessionMeans()
	sessions := max(1, min(len(mean[0]), len(mean[1])))
	runs := max(minRuns, len(r.runs)/max(1, len(mean[0])+len(mean[1])))
	perRun := math.Sqrt(stats.Square(r.groups.Tau) + stats.Median(r.s2))
	u := c.sessionSD()
	now := SameWithin(sessions, runs, perRun, u)
	f := finding.New(finding.ToShowSame, finding.Pct("margin", 100*c.opt.margin()), finding.Count("most", MostSessions),
		finding.Count("sessions", sessions),
		finding.Pct("within", math.Ceil(100*now)))
	if need, ok := SessionsForNoChange(c.opt.margin(), runs, perRun, u); ok {
		f.Values = append(f.Values, finding.Count("needed", max(need, sessions+1)), finding.Count("revs", runs))
	}
	c.advise(f)
	c.adviseHeld(runs, perRun)
}
