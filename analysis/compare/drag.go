package compare

import (
	"math"
	"slices"
	"time"

	"flywitness/analysis/drag"
	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
	"flywitness/finding"
)

// correctDrag takes out of the ratio what the held engine tells of the drag of each sitting, where this car's own
// data show that it tells it. Where nothing was held it does nothing.
func (c *comparison) correctDrag() {
	if c.ratio.kind != inertia.RevDown {
		return
	}
	var sides [2]*drag.Side
	for k, s := range c.sides() {
		sides[k] = drag.Measure(s.Logs, s.Sessions, s.Inertia, s.diesel(), c.opt.IdleFlow)
	}
	f := drag.Correct(sides[0], sides[1], c.ratio.raw().falls(),
		drag.Options{Checklist: c.opt.Checklist, SameDay: c.sameDay(), IdleFlow: c.opt.IdleFlow,
			Parts: c.flowParts(), Ladder: c.opt.Ladder})
	if f == nil {
		return
	}
	c.finding.Drag = f
	c.answer.widen(f.Unsure(c.answer.ln, c.answer.variance))
	f.Uncorrected, _ = c.answer.estimate()
	if f.NoRatio != nil {
		c.blocked = f.NoRatio
		c.warnings = append(c.warnings, *f.NoRatio)
	}
	if corrected := f.Answer; corrected != nil && f.Decide(c.answer.variance, c.answer.df) {
		c.answer = &answer{ln: corrected.Ln, variance: corrected.Variance, df: corrected.DF}
		c.dragDecides = true
	}
	f.Say()
}

// flowParts is what the job changed on which the flow rests, as was told and as the control unit tells.
func (c *comparison) flowParts() []string {
	if c.blocked != nil && c.blocked.Code == finding.CalibrationDiffers {
		return append(slices.Clone(c.opt.FlowParts), "calibration")
	}
	return c.opt.FlowParts
}

// oneDay is the longest that both sides of one day lie apart.
const oneDay = 20 * time.Hour

// sameDay tells whether both sides were driven in one day, as was told and as the dates of the recordings do not
// deny.
func (c *comparison) sameDay() bool {
	if !c.opt.SameDay {
		return false
	}
	first, _, known := dates(c.before.Logs)
	_, last, also := dates(c.after.Logs)
	if known && also && last.Sub(first).Abs() > oneDay {
		c.warn(finding.NotOneDay)
		return false
	}
	return true
}

func (s *Side) diesel() bool { return s.Vehicle != nil && s.Vehicle.Engine.Fuel == "diesel" }

// raw is the ratio as it was driven, without what the temperature is worth: the flow has that in it.
func (r *ratio) raw() *ratio {
	if r.warmth == nil {
		return r
	}
	c := *r
	c.asDriven, c.warmth = true, nil
	if !c.compare(r.shape) {
		return r
	}
	c.variance += c.trimVar
	return &c
}

// falls is the ratio as the correction wants it.
func (r *ratio) falls() drag.Falls {
	f := drag.Falls{Ln: r.ln, Other: r.shapeVar + r.trimVar, DF: r.df}
	f.Runs = r.variance - f.Other
	f.Session, f.Mean, f.Variance = r.sessions()
	return f
}

// mostHeldSittings is how many sittings a side are offered at most.
const mostHeldSittings = 10

// fewestForSame is the fewest sittings a side, held at two speeds, that show sameness within a margin four times in
// five; ok is false beyond that.
func fewestForSame(margin float64, runs int, perRun float64, opt drag.Options) (m int, ok bool) {
	for m = 1; m <= mostHeldSittings; m++ {
		sd, df := drag.Foreseen(m, runs, perRun, opt)
		if sd*(stats.TQuantile(0.975, df)+stats.TQuantile(0.5+power/2, df)) <= math.Log1p(margin) {
			return m, true
		}
	}
	return m, false
}

// offeredMargin is the margin that is offered where the one that was set is out of reach. It is never taken without
// being told.
const offeredMargin = 0.05

// adviseHeld says what holding the engine would earn where it was held already: sittings, or both sides in one day.
func (c *comparison) adviseHeld(runs int, perRun float64) {
	if c.finding.Drag == nil {
		return
	}
	opt := drag.Options{Checklist: true}
	day := drag.Options{Checklist: true, SameDay: true}
	margins := []float64{c.opt.margin()}
	if offeredMargin > c.opt.margin() {
		margins = append(margins, offeredMargin)
	}
	for i, margin := range margins {
		m, ok := fewestForSame(margin, runs, perRun, opt)
		if !ok {
			continue
		}
		inOneDay, _ := fewestForSame(margin, runs, perRun, day)
		c.advise(finding.New(finding.SameByHolding, finding.Pct("margin", 100*margin), finding.Flag("wider", i > 0),
			finding.Count("sittings", m),
			finding.Flag("in_one_day", m > 1 && inOneDay == 1)))
	}
	if c.finding.Drag.Trust.Verdict == drag.Open {
		c.advise(finding.New(finding.DriveLadder))
	}
}
