package promise

import (
	"flywitness/analysis/stats"
	"flywitness/finding"
)

// Clutch is what was seen of a clutch that was promised to hold a torque.
type Clutch struct {
	Slips  bool            // it slipped: Torque is that at which it lets go; else that which it carried without slip
	Torque *stats.Estimate // N m; nil where it is not known
	Why    finding.Text    // what the log lacks where neither is shown
}

// muchMore is from how much beyond a promise on a clutch carried more than was promised.
const muchMore = 1.1

// JudgeClutch sets a promised torque against what was seen. A torque above what was driven is neither shown nor
// refuted.
func (p *Promise) JudgeClutch(c Clutch) Outcome {
	claimed := p.ClutchTorque()
	switch t := c.Torque; {
	case len(c.Why) > 0 || t == nil || claimed <= 0:
		return Undecided
	case c.Slips && t.CI95[1] < claimed:
		return NotKept
	case c.Slips:
		return Undecided
	case t.CI95[0] >= muchMore*claimed:
		return More
	case t.CI95[0] >= claimed:
		return Kept
	case t.CI95[1] >= claimed:
		return NotShown
	}
	return Undecided
}

// ClutchSentence says what was promised, what was seen and what follows.
func (p *Promise) ClutchSentence(c Clutch, o Outcome) finding.Text {
	text := finding.Say(finding.New(finding.Promised, finding.Saying("what", p.Words())))
	t := c.Torque
	switch {
	case len(c.Why) > 0:
		return append(text, c.Why...)
	case t == nil && c.Slips:
		return append(text, finding.New(finding.SlipsTorqueUnknown))
	case t == nil:
		return append(text, finding.New(finding.HeldTorqueUnknown))
	}
	at := func(name string, x float64) finding.Value {
		return finding.Estimate(name, finding.NewtonMetres, &stats.Estimate{Value: x, SD: t.SD, CI95: t.CI95})
	}
	seen := finding.Saying("seen", finding.New(finding.SeenAbout, at("torque", t.Value), at("low", t.CI95[0]),
		at("high", t.CI95[1])))
	if c.Slips {
		return append(text, finding.New(finding.SlipsFrom, seen, finding.Flag("less", o == NotKept)))
	}
	return append(text, finding.New(finding.Carried, seen, finding.Name("outcome", string(o))))
}
