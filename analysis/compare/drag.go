package compare

import (
	"flywitness/analysis/drag"
	"flywitness/analysis/inertia"
	"flywitness/finding"
)

// correctDrag takes out of the ratio what the held engine tells of the drag of each sitting, where this car's own data show that it tells it. Where nothing was
// held it does nothing.
func (c *comparison) correctDrag() {
	if c.ratio.kind != inertia.RevDown {
		return
	}
	var sides [2]*drag.Side
	for k, s := range c.sides() {
		sides[k] = drag.Measure(s.Logs, s.Sessions, s.Inertia, s.diesel())
	}
	f := drag.Correct(sides[0], sides[1], c.ratio.raw().falls(), drag.Options{Checklist: c.opt.Checklist, SameDay: c.opt.SameDay, IdleFlow: c.opt.IdleFlow,
		Parts: c.opt.FlowParts, Ladder: c.opt.Ladder})
	if f == nil {
		return
	}
	c.finding.Drag = f
	f.Uncorrected, _ = c.answer.estimate()
	if f.NoRatio != nil {
		c.forbid(*f.NoRatio)
	}
	if corrected := f.Answer; corrected != nil && f.Decide(c.answer.variance, c.answer.df) {
		c.answer = &answer{ln: corrected.Ln, variance: corrected.Variance, df: corrected.DF}
		c.dragDecides = true
	}
	f.Say()
}

func (s *Side) diesel() bool { return s.Vehicle != nil && s.Vehicle.Engine.Fuel == "diesel" }

// forbid takes the free revs their vote for something that is in their falls.
func (c *comparison) forbid(r drag.Refusal) {
	c.block(finding.Code(r.Code), finding.Name("what", r.What), finding.Name("next", r.Next))
}

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
