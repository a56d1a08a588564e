package drivesheet

import (
	"fmt"

	"flywitness/analysis/plan"
	"flywitness/figure"
)

// Step is one thing to drive or do, with a box to tick for each run of it.
type Step struct {
	Text  string
	Boxes int
}

// wholeSD writes a road speed without decimals: nobody drives a tenth of a km/h.
const wholeSD = 5

// mostInARow is how many free revs stand between two rests: the caution on free revs in analysis/practice.
const mostInARow = 6

// Steps is what to drive in one session, in order.
func Steps(f *plan.Finding, u figure.Units) []Step {
	revs := fmt.Sprintf("%d free revs: at standstill in neutral, foot off the clutch, to about 4000 rpm, foot off the accelerator at once, and let it fall to idle. Record engine speed alone.", f.RunsPerSession)
	if f.RunsPerSession > mostInARow {
		revs += fmt.Sprintf(" Two minutes at idle after each %d.", mostInARow)
	}
	out := []Step{{revs, f.RunsPerSession}}
	if o := f.Overrun; o != nil {
		out = append(out, Step{fmt.Sprintf("Two runs off-throttle in gear %d from %s (%.0f rpm) to %s, and two neutral coasts from the same speed over the same stretch, both directions; short pieces that alternate are best. They give the inertia itself.",
			o.Gear, u.Number(o.FromKmh, wholeSD, "km/h"), o.FromRPM, u.Number(o.ToKmh, wholeSD, "km/h")), 4})
	}
	return append(out, pulls(f, u))
}

func pulls(f *plan.Finding, u figure.Units) Step {
	p := f.Pull
	if p == nil {
		return Step{"Full-load pulls: " + f.WhyNoPull + ".", 0}
	}
	text := fmt.Sprintf("Three full-load pulls in gear %d from %s (%.0f rpm) to %s (%.0f rpm), in both directions, the last one hot, and only when the clutch is bedded in: about %.0f s and %s of free road each, braking included",
		p.Gear, u.Number(p.FromKmh, wholeSD, "km/h"), p.FromRPM, u.Number(p.ToKmh, wholeSD, "km/h"), p.ToRPM, p.Seconds, u.Number(p.RoadM, 50, "m"))
	if p.Assumed {
		text += fmt.Sprintf(", with a weak engine (%s)", u.Number(p.TorqueNm, wholeSD, "N m"))
	}
	return Step{text + ".", 3}
}
