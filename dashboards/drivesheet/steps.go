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

// Steps is what to drive in one session, in order.
func Steps(f *plan.Finding, u figure.Units) []Step {
	s := plan.Usual()
	revs := fmt.Sprintf("%d free revs: at standstill in neutral, foot off the clutch, to about %.0f rpm, foot off the accelerator at once, and let it fall to idle. "+
		"Record engine speed alone.", f.RunsPerSession, f.RevToRPM)
	if f.RunsPerSession > s.InARow {
		revs += fmt.Sprintf(" %.0f minutes at idle after each %d.", s.RestS/60, s.InARow)
	}
	// A line of its own would take the letter sheet a page further.
	revs += fmt.Sprintf(" Before and after them, where air flow or fuel is recorded, hold %.0f and %.0f rpm for 15 s each, no fan running.",
		f.HoldsRPM[0], f.HoldsRPM[1])
	out := []Step{{revs, f.RunsPerSession}}
	if o := f.Overrun; o != nil {
		out = append(out, Step{fmt.Sprintf("%d runs off-throttle in gear %d from %s (%.0f rpm) to %s, and %d neutral coasts from the same speed over the same stretch, "+
			"half of each in either direction; short pieces that alternate are best. They give the inertia itself.",
			s.InGear, o.Gear, u.Number(o.FromKmh, wholeSD, "km/h"), o.FromRPM, u.Number(o.ToKmh, wholeSD, "km/h"), s.Coasts), s.InGear + s.Coasts})
	}
	return append(out, pulls(f, u))
}

func pulls(f *plan.Finding, u figure.Units) Step {
	p := f.Pull
	if p == nil {
		return Step{"Full-load pulls: " + f.WhyNoPull.In(u) + ".", 0}
	}
	n := plan.Usual().FirstGearPulls
	text := fmt.Sprintf("%d full-load pulls in gear %d from %s (%.0f rpm) to %s (%.0f rpm), in both directions, the last one hot, and only when the clutch is "+
		"bedded in: about %.0f s and %s of free road each, braking included", n,
		p.Gear, u.Number(p.FromKmh, wholeSD, "km/h"), p.FromRPM, u.Number(p.ToKmh, wholeSD, "km/h"), p.ToRPM, p.Seconds, u.Number(p.RoadM, 50, "m"))
	if p.Assumed {
		text += fmt.Sprintf(", with a weak engine (%s)", u.Number(p.TorqueNm, wholeSD, "N m"))
	}
	return Step{text + ".", n}
}
