package promise

import (
	"fmt"

	"flywitness/analysis/stats"
	"flywitness/figure"
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

// JudgeClutch sets a promised torque against what was seen. A torque above what was driven is neither shown nor refuted.
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
func (p *Promise) ClutchSentence(c Clutch, o Outcome, write Writer, u figure.Units) string {
	text := "Promised " + p.Words(write) + "."
	t := c.Torque
	switch {
	case len(c.Why) > 0:
		return text + " " + c.Why.In(u)
	case t == nil && c.Slips:
		return text + " It slips, but at which torque is not known without the mass of the car."
	case t == nil:
		return text + " No slip was seen, but which torque was driven is not known without the mass of the car."
	}
	seen := fmt.Sprintf("%s, surely between %s", write(t.Value, t.SD, "N m"), between(t.CI95[0], t.CI95[1], t.SD, "N m", write))
	switch {
	case c.Slips && o == NotKept:
		return text + " It slips from " + seen + ": less than was promised."
	case c.Slips:
		return text + " It slips from " + seen + ", which cannot be told apart from the promise."
	case o == More:
		return text + " It carried " + seen + ", without slip: more than was promised."
	case o == Kept:
		return text + " It carried " + seen + ", without slip."
	case o == NotShown:
		return text + " It carried " + seen + ", without slip: the promise lies within that, but it is not shown."
	}
	return text + " It carried " + seen + ", without slip, and more was never asked of it."
}
