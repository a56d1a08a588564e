package text

import (
	"strings"

	"flywitness/analysis"
	"flywitness/analysis/compare"
	"flywitness/analysis/promise"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/figure"
)

// line sums a comparison or a job up in one line, as the customer takes it home: how the clutch is now, what changed, whether the promise was kept, and last
// how the clutch was. "" for a result of one question.
func (w writer) line(r *analysis.Result) string {
	c := r.Compare
	if c == nil {
		return ""
	}
	var parts []string
	add := func(s string) {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if s := c.SlipAfter; s != nil {
		add(map[slip.Verdict]string{slip.Holds: "the clutch holds now", slip.Slips: "the clutch still slips", slip.Inconclusive: "whether the clutch holds now is open"}[s.Verdict])
		if s.Verdict == slip.Slips && (c.SlipBefore == nil || c.SlipBefore.Verdict != slip.Slips) {
			parts[0] = "the clutch slips"
		}
	}
	if c.Before != nil && c.After != nil {
		add(w.changeLine(c))
	}
	if c.Claim != nil {
		add(outcomeLine(c.Claim.Outcome, "the promise"))
	}
	if r.Job != nil && r.Job.ClutchClaim != nil {
		add(outcomeLine(r.Job.ClutchClaim.Outcome, "what was promised of the clutch"))
	}
	if s := c.SlipBefore; s != nil {
		now := map[slip.Verdict]string{slip.Holds: "the clutch held", slip.Slips: "the clutch slipped", slip.Inconclusive: "whether the clutch held is open"}[s.Verdict]
		if c.SlipAfter != nil {
			now = "before the job " + now
		}
		add(now)
	}
	return sentence(strings.Join(parts, "; "))
}

func (w writer) changeLine(c *compare.Finding) string {
	value, _, _, known := changePct(c)
	switch {
	case c.Verdict == compare.Reduced && known:
		return "the rotating inertia fell by " + pct(-value)
	case c.Verdict == compare.Reduced:
		return "the rotating inertia fell"
	case c.Verdict == compare.Increased && known:
		return "the rotating inertia rose by " + pct(value)
	case c.Verdict == compare.Increased:
		return "the rotating inertia rose"
	case c.Verdict == compare.NoChange:
		return "the rotating inertia did not change"
	}
	return "whether the rotating inertia changed is open"
}

func outcomeLine(o promise.Outcome, what string) string {
	switch o {
	case promise.Kept:
		return what + " was kept"
	case promise.More:
		return what + " was more than kept"
	case promise.NotKept:
		return what + " was not kept"
	case promise.NotShown:
		return what + " is not shown to be kept"
	case promise.Undecided:
		return "whether " + what + " was kept is open"
	}
	return ""
}

// doubts are what must be read before anything else: sides that may be swapped, a vehicle file that the log contradicts.
func (w writer) doubts(r *analysis.Result) (out []string) {
	if c := r.Compare; c != nil && len(c.SidesDoubt) > 0 {
		out = append(out, w.text(c.SidesDoubt))
	}
	if g := r.Gearing; g != nil && g.Wrong {
		out = append(out, w.text(g.Sentence))
	}
	return out
}

// lighter writes what a change is worth as a mass, in the direction that it has.
func (w writer) lighter(e *stats.Estimate) string {
	if e.Value < 0 {
		return "as if the car were heavier by " + w.u.Estimate(e.Scale(-1), "kg")
	}
	return "as if the car were lighter by " + w.u.Estimate(e, "kg")
}

// gained writes a power that is gained, or lost.
func (w writer) gained(e *stats.Estimate) string {
	if e.Value < 0 {
		return "loses " + w.u.Estimate(e.Scale(-1), "kW")
	}
	return w.u.Estimate(e, "kW")
}

// sooner writes a time that is saved, or lost.
func (w writer) sooner(e *stats.Estimate) string {
	if e.Value < 0 {
		return later(e.Scale(-1), "later")
	}
	return later(e, "sooner")
}

func later(e *stats.Estimate, how string) string {
	return figure.Metric.Estimate(e, "s "+how)
}
