// Package plan tells before the drive what has to be driven: how many free revs and how many sessions show a
// change of a given size, and in which gear and over which speeds a pull can be driven within a speed limit.
package plan

import (
	"math"

	"flywitness/analysis/compare"
	"flywitness/analysis/stats"
)

// power is the probability with which a change of the planned size is to be shown, at a false alarm of 5 %.
const power = 0.8

// Link is a way to the car's diagnostic values, by what matters for a fall of engine speed.
type Link struct {
	Name     string
	RateHz   float64 // engine speed samples a second when it is polled alone
	TimingSD float64 // s, of a time stamp
}

// usualLinks are the usual ones. Common practice, no source; a log of the car replaces them.
var usualLinks = []Link{
	{"K-line, old cars", 2.5, 0.040},
	{"CAN, one value a request", 8, 0.020},
	{"CAN, several values a request", 20, 0.010},
}

// runToRunSD is what the drag differs by from one free rev to the next, as a part of it, until a log tells.
const runToRunSD = stats.UsualRunSD

// Scatter is how well one free rev tells the inertia, relative.
type Scatter struct {
	Timing   float64 // from the time stamps
	RunToRun float64 // from the drag
}

// total returns the standard deviation of one run.
func (s Scatter) total() float64 { return math.Hypot(s.Timing, s.RunToRun) }

// timingScatter returns the relative standard deviation of the time scale of one fall of T seconds from evenly spaced
// samples: sigma sqrt(12) / (T sqrt(f T)), the slope of a straight line through n = f T points.
func (l Link) timingScatter(fall float64) float64 {
	return l.TimingSD * math.Sqrt(12) / (fall * math.Sqrt(l.RateHz*fall))
}

// mostRuns is more than anybody drives.
const mostRuns = 1000

// runsNeeded returns how many free revs a side show a relative change of inertia (0.1 is 10 %, the ratio of the
// sides 1.1) when both sides are driven in one condition; ok is false beyond 1000. It is the smallest n for
// which the two-sided t test of 2n-2 degrees of freedom has the power planned, by the noncentral t distribution
// with ln(1+change) / (sd sqrt(2/n)).
func runsNeeded(change float64, s Scatter) (n int, ok bool) {
	if !(change > 0) || !(s.total() > 0) {
		return 0, false
	}
	return stats.RunsNeeded(math.Log1p(change), s.total(), power, mostRuns)
}

// detectable returns the smallest relative change that is shown with the power planned by sessions a side of
// runs free revs each, when sittings differ by sessionSD. One session a side has to take that spread as told;
// several measure it beside what is usual, as the comparison does: the variance of ln(ratio) is 2 (sessionSD^2
// / m + s^2 / (m n)), with 2m-2 degrees of freedom and those that the usual spread is worth for m > 1.
func detectable(sessions, runs int, s Scatter, sessionSD float64) float64 {
	sd, df := compare.LnRatio(sessions, runs, s.total(), sessionSD)
	return math.Expm1(stats.DetectableT(power, df) * sd)
}

// sessionsNeeded returns the fewest sessions a side of runs free revs each that show a relative change; ok is
// false beyond 30.
func sessionsNeeded(change float64, runs int, s Scatter, sessionSD float64) (m int, ok bool) {
	for m = 1; m <= compare.MostSessions; m++ {
		if sd, df := compare.LnRatio(m, runs, s.total(), sessionSD); stats.PowerT(math.Log1p(change)/sd, df) >= power {
			return m, true
		}
	}
	return compare.MostSessions, false
}
