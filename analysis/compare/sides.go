package compare

import (
	"time"

	"flywitness/analysis/promise"
	"flywitness/drive"
	"flywitness/finding"
)

// doubtSides tells whether before and after may stand the wrong way round: by the dates of the recordings, or
// by a change that went the other way than what was fitted or promised.
func (c *comparison) doubtSides() {
	f := c.finding
	switch {
	case c.recordedBackwards():
		f.SidesDoubt = finding.Say(finding.New(finding.RecordedBackwards))
	case c.lessExpected() && (f.Verdict == Increased || f.Ratio != nil && f.Ratio.CI95[1] < 1):
		f.SidesDoubt = finding.Say(finding.New(finding.LessWasExpected))
	default:
		return
	}
	c.warn(finding.SidesSwapped, finding.Saying("why", f.SidesDoubt...))
}

// recordedBackwards tells whether every dated recording of the before side is later than every one of the after side.
func (c *comparison) recordedBackwards() bool {
	first, _, okBefore := dates(c.before.Logs)
	_, last, okAfter := dates(c.after.Logs)
	return okBefore && okAfter && first.After(last)
}

// dates are the earliest and the latest creation of logs; ok is false where one has none.
func dates(logs []*drive.Log) (first, last time.Time, ok bool) {
	for _, l := range logs {
		switch {
		case l.Created.IsZero():
			return first, last, false
		case first.IsZero() || l.Created.Before(first):
			first = l.Created
		}
		if l.Created.After(last) {
			last = l.Created
		}
	}
	return first, last, len(logs) > 0
}

// lessExpected tells whether parts or promise say that inertia was taken off.
func (c *comparison) lessExpected() bool {
	if d, sd, ok := c.partChange(); ok && d < -sd {
		return true
	}
	p := c.opt.Claim
	if p == nil {
		return false
	}
	switch p.Kind {
	case promise.Inertia:
		return p.Amount < 0
	case promise.Torque, promise.ClutchPower:
		return false
	}
	return p.Amount > 0
}
