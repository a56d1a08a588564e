package compare

import (
	"time"

	"flywitness/analysis/promise"
	"flywitness/drive"
)

// doubtSides tells whether before and after may stand the wrong way round: by the dates of the recordings, or by a change that went the other way than what was
// fitted or promised.
func (c *comparison) doubtSides() {
	f := c.finding
	switch {
	case c.recordedBackwards():
		f.SidesDoubt = "The recordings of the side before the job were made after those of the other side. If before and after are swapped, everything below holds the " +
			"other way round."
	case c.lessExpected() && (f.Verdict == Increased || f.Ratio != nil && f.Ratio.CI95[1] < 1):
		f.SidesDoubt = "The drive shows more rotating inertia after the job, where less was fitted or promised. If before and after are swapped, everything below holds " +
			"the other way round."
	default:
		return
	}
	c.warn("sides_swapped", f.SidesDoubt)
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
