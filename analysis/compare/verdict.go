package compare

import (
	"math"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
	"flywitness/finding"
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
	c.answer = c.ratio.withSessions(c.sessionSD(), drift)
	c.allowForSmoothing()
	c.correctDrag()
	c.describeRatio(drift)
	c.finding.Fit = c.ratio.picture()
}

// foot tells of each side whether the foot was on the clutch in its free revs, nil where that is not known.
func (c *comparison) foot() (foot [2]*bool) {
	for k, s := range c.sides() {
		foot[k] = s.FootOnClutch
		if foot[k] == nil && s.Inertia != nil {
			foot[k] = s.Inertia.FootOnClutch
		}
	}
	return foot
}

// footMoves is what a foot on the clutch on one side alone moves the ratio by, relative: disc and input shaft are some
// 4 % of the inertia, and the oil of the gearbox up to 10 % of the drag. Common practice, no source.
const footMoves = 0.1

// mindFoot warns of a change that a foot on the clutch might have made, where nobody told where it was. The ratio lies
// between lo and hi.
func (c *comparison) mindFoot(lo, hi float64) {
	foot := c.foot()
	nearest := math.Min(math.Abs(math.Log(lo)), math.Abs(math.Log(hi)))
	if (foot[0] == nil || foot[1] == nil) && nearest < footMoves {
		c.warn(finding.FootNotTold, finding.Pct("by", 100*footMoves))
	}
}

// footDiffers tells whether the free revs of the sides were driven with the foot differently on the clutch.
func (c *comparison) footDiffers() bool {
	foot := c.foot()
	if foot[0] == nil || foot[1] == nil || *foot[0] == *foot[1] {
		return false
	}
	c.block(finding.FootDiffers)
	return true
}

// saidWarm is the difference of temperature (K) that is told to the reader.
const saidWarm = 3.0

func (c *comparison) describeRatio(drift [2][]inertia.Drift) {
	r := c.ratio
	if r.late {
		c.warn(finding.LateRelease)
	}
	if r.moved {
		c.warn(finding.TopTrim, finding.Duration("trim", r.trim))
	}
	if r.matched {
		c.warn(finding.CommonWindow, finding.EngineSpeed("from", r.shape.Low), finding.EngineSpeed("to", r.shape.High))
	}
	if r.warmth != nil && !c.dragDecides && math.Abs(r.warmth.difference) > saidWarm {
		c.warn(finding.TemperatureFixed, finding.Flag("oil", r.warmth.oil),
			finding.Quantity("difference", finding.Kelvin, math.Abs(r.warmth.difference)),
			finding.Flag("warmer", r.warmth.difference > 0))
	}
	for k := range drift {
		for _, d := range drift[k] {
			if d.Confirmed {
				c.warn(finding.DragDrifts, finding.Pct("change", d.Total), finding.Count("session", d.Session+1),
					finding.Flag("after", k == 1))
			}
		}
	}
}

// judge turns the answer into a verdict.
func (c *comparison) judge() {
	f := c.finding
	switch {
	case c.otherCar:
		c.because(finding.TwoCars)
		c.advise(finding.New(finding.DifferentVehicle).Next())
		return
	case c.partsOnly:
		c.judgeParts()
		return
	case c.answer == nil:
		c.because(finding.NoRatio, finding.List("why", c.whyNoRatio()...))
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
	bound := finding.Pct("below", math.Ceil(below))
	switch m := c.opt.margin(); {
	case c.blocked != nil && !c.carried:
		c.because(finding.RevsMayNotDecide, finding.Saying("why", c.blocked.Fact()))
	case c.contradiction:
		c.because(finding.WaysContradict)
		c.advise(finding.New(finding.CheckAndRepeat))
	case lo > 1/(1+m) && hi < 1+m:
		f.Verdict = NoChange
		c.because(finding.InertiaSame, finding.Pct("margin", 100*m), bound)
	case lo > 1:
		f.Verdict = Reduced
		c.because(finding.InertiaFell, finding.Pct("change", change), finding.Pct("from", 100*(1-1/lo)),
			finding.Pct("to", 100*(1-1/hi)))
	case hi < 1:
		f.Verdict = Increased
		c.because(finding.InertiaRose, finding.Pct("change", -change), finding.Pct("from", 100*(1/hi-1)),
			finding.Pct("to", 100*(1/lo-1)))
	default:
		c.because(finding.ChangeOpen, finding.Pct("less", 100*math.Max(0, 1-1/hi)),
			finding.Pct("more", 100*math.Max(0, 1/lo-1)), bound)
	}
	if f.Verdict == Reduced || f.Verdict == Increased {
		c.mindFoot(lo, hi)
	}
	if f.Verdict == Inconclusive && !c.contradiction {
		c.adviseMore()
		if c.blocked == nil {
			c.adviseSame()
		}
	}
}

// judgeParts gives the verdict that the parts on the bench carry. How much of the whole that is stays open.
func (c *comparison) judgeParts() {
	f := c.finding
	p := stats.TwoSided(f.Change.Value/f.Change.SD, math.Inf(1))
	f.PValue = &p
	why := finding.Saying("why", finding.New(finding.RevsMissing))
	if c.blocked != nil {
		why = finding.Saying("why", c.blocked.Fact())
	}
	switch lo, hi := f.Change.CI95[0], f.Change.CI95[1]; {
	case hi < 0:
		f.Verdict = Reduced
		c.because(finding.PartsTookOff, finding.Inertia("change", -f.Change.Value), finding.Inertia("from", -hi),
			finding.Inertia("to", -lo), why)
	case lo > 0:
		f.Verdict = Increased
		c.because(finding.PartsAdded, finding.Inertia("change", f.Change.Value), finding.Inertia("from", lo),
			finding.Inertia("to", hi), why)
	default:
		c.because(finding.PartsOpen, why)
		c.advise(finding.New(finding.SwingOrRevs))
	}
}

// whyNoRatio says what the free revs lack.
func (c *comparison) whyNoRatio() (lacking []finding.Finding) {
	if c.blocked != nil {
		c.advise(c.blocked.Next())
		return []finding.Finding{c.blocked.Fact()}
	}
	for k, code := range []finding.Code{finding.NoBefore, finding.NoAfter} {
		if c.sides()[k].Inertia == nil && c.sides()[1-k].Inertia != nil {
			missing := finding.New(code)
			c.warn(code)
			c.advise(missing.Next())
			return []finding.Finding{missing.Fact()}
		}
	}
	for k, s := range c.sides() {
		n := 0
		if s.Inertia != nil {
			n = max(len(s.Inertia.FreeRevs(inertia.RevDown)), len(s.Inertia.FreeRevs(inertia.RollingRevDown)))
		}
		if n < minRuns {
			lacking = append(lacking, finding.New(finding.TooFewRevs, finding.Flag("after", k == 1),
				finding.Count("usable", n), finding.Count("needed", minRuns)))
		}
	}
	if len(lacking) == 0 {
		lacking = append(lacking, finding.New(finding.RevsOfOtherKind))
	}
	c.advise(finding.New(finding.SixFreeRevs))
	return lacking
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
