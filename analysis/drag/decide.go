package drag

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// Decide tells whether the corrected ratio decides, given the variance of the logarithm of the uncorrected one
// and its degrees of freedom. It does where this car's own data have earned it; else the wider interval of the
// two decides.
func (f *Finding) Decide(variance, df float64) bool {
	if f.Answer == nil {
		return false
	}
	wide := stats.TQuantile(0.975, df) * math.Sqrt(variance)
	own := stats.TQuantile(0.975, f.Answer.DF) * math.Sqrt(f.Answer.Variance)
	if f.Trust.Verdict == Earned || own > wide {
		f.Decides = "corrected"
		return true
	}
	return false
}

// Unsure is the variance that is added to the uncorrected ratio, whose logarithm is ln with the given variance. Before
// the car has shown that its flow tells its drag, it may or may not, one as likely as the other. The ratio stays where
// it was, and its interval covers both.
func (f *Finding) Unsure(ln, variance float64) float64 {
	if f.account == nil || f.Answer != nil && f.Trust.Verdict == Earned {
		return f.unsure
	}
	told := f.account.Variance + stats.Square(f.account.Ln-ln)
	return f.unsure + math.Max(0, told-variance)/2
}

// Say writes the sentence: what the held engine tells, which ratio decides and why.
func (f *Finding) Say() {
	if f.Corrected == nil {
		if len(f.Refusals) > 0 {
			f.Sentence = finding.Say(finding.New(finding.HeldNothing, finding.Saying("why", f.Refusals[0])))
		}
		return
	}
	change := func(ratio float64) float64 { return 100 * (1/ratio - 1) } // of inertia, from before over after
	c, u := f.Corrected, f.Uncorrected
	if u == nil {
		u = c
	}
	f.Sentence = finding.Say(finding.New(finding.HeldCorrects,
		finding.Pct("flow", math.Abs(f.FlowChange.Value)), finding.Flag("flow_more", f.FlowChange.Value > 0),
		finding.Pct("drag", math.Abs(f.DragChange.Value)), finding.Flag("drag_more", f.DragChange.Value > 0),
		finding.Pct("change", change(c.Value)), finding.Pct("low", change(c.CI95[1])),
		finding.Pct("high", change(c.CI95[0])),
		finding.Pct("plain", change(u.Value)), finding.Pct("plain_low", change(u.CI95[1])),
		finding.Pct("plain_high", change(u.CI95[0]))), f.whyItDecides())
}

func (f *Finding) whyItDecides() finding.Finding {
	switch t := f.Trust; {
	case t.Verdict == Earned && t.By == "ladder":
		return finding.New(finding.LadderDecides, finding.Pct("climb", t.Ladder.DragChange),
			finding.Pct("left", t.Ladder.Left))
	case t.Verdict == Earned:
		return finding.New(finding.SittingsDecide, finding.Number("odds", *t.Odds))
	case f.Decides == "corrected":
		return finding.New(finding.CorrectedWider)
	}
	return finding.New(finding.UncorrectedWider)
}
