package compare

import (
	"fmt"
	"math"

	"flywitness/analysis/inertia"
	"flywitness/analysis/practice"
	"flywitness/analysis/stats"
)

// power is the probability with which a change of the smallest detectable size would be shown.
const power = 0.8

// measureRatio gets the ratio from the free revs, or says why there is none.
func (c *comparison) measureRatio() {
	if c.otherCar || c.footDiffers() {
		return
	}
	if c.before.Inertia == nil || c.after.Inertia == nil {
		return
	}
	c.ratio = bestRatio(c.before.Inertia, c.after.Inertia)
	if c.ratio == nil {
		return
	}
	drift := [2][]inertia.Drift{c.before.Inertia.Drift, c.after.Inertia.Drift}
	c.answer = c.ratio.withSessions(c.opt.Checklist, drift)
	c.correctDrag()
	c.describeRatio(drift)
	c.finding.Fit = c.ratio.picture()
}

// footDiffers tells whether the free revs of the sides were driven with the foot differently on the clutch.
func (c *comparison) footDiffers() bool {
	var foot [2]*bool
	for k, s := range c.sides() {
		foot[k] = s.FootOnClutch
		if foot[k] == nil && s.Inertia != nil {
			foot[k] = s.Inertia.FootOnClutch
		}
	}
	if foot[0] == nil || foot[1] == nil || *foot[0] == *foot[1] {
		return false
	}
	c.block(practice.FootDiffers)
	return true
}

func (c *comparison) describeRatio(drift [2][]inertia.Drift) {
	r := c.ratio
	if r.late {
		c.warn("late_release", "the falls begin late: the throttle shuts slowly or the engine speed is shown late; what that leaves in them was fitted with them")
	}
	if r.moved {
		c.warn("top_trim", fmt.Sprintf("the answer depended on the first moments after the release, so %.1f s of each fall were left out (throttle or sensor lag)", r.trim))
	}
	if r.matched {
		c.warn("common_window", fmt.Sprintf("the sides were revved to different speeds; only %.0f to %.0f rpm, which both reach, was used", r.shape.Low, r.shape.High))
	}
	if r.warmth != nil && !c.dragDecides && math.Abs(r.warmth.difference) > 3 {
		c.warn("temperature_corrected", fmt.Sprintf("the %s was %.0f K %s after the job; the drag was corrected for it, with its uncertainty",
			r.warmth.source, math.Abs(r.warmth.difference), warmer(r.warmth.difference)))
	}
	for k := range drift {
		for _, d := range drift[k] {
			if d.Confirmed {
				c.warn("drag_drifts", fmt.Sprintf("the drag changed by %.1f %% over the free revs of session %d of the %s side: drive 20 minutes before measuring", d.Total, d.Session+1, sideName[k]))
			}
		}
	}
}

func warmer(k float64) string {
	if k > 0 {
		return "warmer"
	}
	return "colder"
}

// judge turns the answer into a verdict.
func (c *comparison) judge() {
	f := c.finding
	switch {
	case c.otherCar:
		f.Reason = "The logs come from two different cars."
		f.WhatToDrive = append(f.WhatToDrive, practice.DifferentVehicle.Next())
		return
	case c.partsOnly:
		c.judgeParts()
		return
	case c.answer == nil:
		f.Reason = c.whyNoRatio()
		return
	}
	a := c.answer
	est, p := a.estimate()
	f.Ratio, f.PValue = est, &p
	detectable := 100 * -math.Expm1(-stats.DetectableT(power, a.df)*a.sd())
	f.SmallestDetectable = &detectable
	below := 100 * math.Max(math.Abs(1-1/est.CI95[0]), math.Abs(1-1/est.CI95[1]))
	f.ChangeBelow = &below
	change := 100 * (1 - 1/est.Value)
	lo, hi := est.CI95[0], est.CI95[1]
	bound := fmt.Sprintf("any change is smaller than %.0f %%", math.Ceil(below))
	switch m := c.opt.margin(); {
	case c.blocked != "" && c.carried == "":
		f.Reason = "The free revs may not decide: " + c.blocked + "."
	case c.contradiction:
		f.Reason = "The ways to the inertia contradict each other, so none is believed; the warning names them."
		f.WhatToDrive = append(f.WhatToDrive, "check mass, tyre size, ratios and the figures of the parts, then repeat the runs that stand out")
	case lo > 1/(1+m) && hi < 1+m:
		f.Verdict = NoChange
		f.Reason = fmt.Sprintf("The inertia is the same within %.1f %%: %s.", 100*m, bound)
	case lo > 1:
		f.Verdict = Reduced
		f.Reason = fmt.Sprintf("The effective inertia fell by %.1f %% (95 %% sure of %.1f to %.1f %%).", change, 100*(1-1/lo), 100*(1-1/hi))
	case hi < 1:
		f.Verdict = Increased
		f.Reason = fmt.Sprintf("The effective inertia rose by %.1f %% (95 %% sure of %.1f to %.1f %%).", -change, 100*(1/hi-1), 100*(1/lo-1))
	default:
		f.Reason = fmt.Sprintf("The runs do not tell a change from none: between %.1f %% less and %.1f %% more inertia fits them; %s.",
			100*math.Max(0, 1-1/hi), 100*math.Max(0, 1/lo-1), bound)
	}
	if f.Verdict == Inconclusive && !c.contradiction {
		c.adviseMore()
		if c.blocked == "" {
			c.adviseSame()
		}
	}
}

// judgeParts gives the verdict that the parts on the bench carry. How much of the whole that is stays open.
func (c *comparison) judgeParts() {
	f := c.finding
	p := stats.TwoSided(f.Change.Value/f.Change.SD, math.Inf(1))
	f.PValue = &p
	why := "the free revs are missing or may not decide"
	if c.blocked != "" {
		why = c.blocked
	}
	switch lo, hi := f.Change.CI95[0], f.Change.CI95[1]; {
	case hi < 0:
		f.Verdict = Reduced
		f.Reason = fmt.Sprintf("The parts that were swapped took %.4f kg m² off (95 %% sure of %.4f to %.4f); that is from the parts, not from driving (%s).", -f.Change.Value, -hi, -lo, why)
	case lo > 0:
		f.Verdict = Increased
		f.Reason = fmt.Sprintf("The parts that were swapped added %.4f kg m² (95 %% sure of %.4f to %.4f); that is from the parts, not from driving (%s).", f.Change.Value, lo, hi, why)
	default:
		f.Reason = "The parts are not known well enough to tell a change from none, and " + why + "."
		f.WhatToDrive = append(f.WhatToDrive, "swing old and new part on a pendulum, or six free revs a side")
	}
}

// whyNoRatio says what the free revs lack.
func (c *comparison) whyNoRatio() string {
	if c.blocked != "" {
		c.finding.WhatToDrive = append(c.finding.WhatToDrive, c.blockedNext())
		return "No ratio: " + c.blocked + "."
	}
	for k, missing := range []practice.Reason{practice.NoBefore, practice.NoAfter} {
		if c.sides()[k].Inertia == nil && c.sides()[1-k].Inertia != nil {
			c.warn(string(missing), missing.Say())
			c.finding.WhatToDrive = append(c.finding.WhatToDrive, missing.Next())
			return "No ratio: " + missing.Fact() + "."
		}
	}
	var lacking []string
	for k, s := range c.sides() {
		n := 0
		if s.Inertia != nil {
			n = max(len(s.Inertia.FreeRevs(inertia.RevDown)), len(s.Inertia.FreeRevs(inertia.RollingRevDown)))
		}
		if n < minRuns {
			lacking = append(lacking, fmt.Sprintf("%s has %d usable free revs of the %d needed", sideName[k], n, minRuns))
		}
	}
	if len(lacking) == 0 {
		lacking = append(lacking, "the free revs of the sides are of different kinds or cannot be fitted together")
	}
	text := "No ratio: " + lacking[0]
	if len(lacking) > 1 {
		text += ", " + lacking[1]
	}
	c.finding.WhatToDrive = append(c.finding.WhatToDrive,
		"six free revs: at rest in neutral, foot off the clutch, rev to about 4000 rpm, let go at once, let it fall to idle")
	return text + "."
}

// picture is what a chart of the common fit needs.
func (r *ratio) picture() *RatioFit {
	p := &RatioFit{Shape: r.shape.G, Low: r.shape.Low, High: r.shape.High}
	for i, run := range r.runs {
		kept := *run
		kept.T, kept.RPM = run.Trimmed(r.low, r.high, r.trim)
		o := r.shape.Runs[i]
		p.Runs = append(p.Runs, FitRun{After: r.after[i], Run: kept, A: o.A, B: o.B, Residual: o.Residual})
	}
	return p
}
