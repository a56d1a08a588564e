package drag

import (
	"fmt"
	"math"

	"flywitness/analysis/stats"
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

// Say writes the sentence: what the held engine tells, which ratio decides and why.
func (f *Finding) Say() {
	if f.Corrected == nil {
		f.Sentence = "The held engine corrects nothing"
		if len(f.Refusals) > 0 {
			f.Sentence += ": " + f.Refusals[0].What
		}
		f.Sentence += "."
		if len(f.Refusals) > 0 && f.Refusals[0].Next != "" {
			f.Sentence += " To do: " + f.Refusals[0].Next + "."
		}
		return
	}
	change := func(e *stats.Estimate) string {
		word := "more"
		if e.Value < 0 {
			word = "less"
		}
		return fmt.Sprintf("%.1f %% %s", math.Abs(e.Value), word)
	}
	f.Sentence = fmt.Sprintf("Held in neutral the engine took %s after the job than before, which is %s drag. The "+
		"ratio is %s with that taken out and %s without.",
		change(f.FlowChange), change(f.DragChange), interval(f.Corrected), interval(f.Uncorrected))
	switch {
	case f.Trust.Verdict == Earned && f.Trust.By == "ladder":
		f.Sentence += fmt.Sprintf(" The corrected one decides: while this car warmed up its drag changed by %.0f %%, "+
			"and %.1f %% of that was left after correction.",
			f.Trust.Ladder.DragChange, f.Trust.Ladder.Left)
	case f.Trust.Verdict == Earned:
		f.Sentence += fmt.Sprintf(" The corrected one decides: this car's own sittings speak for it by %.0f to 1.",
			math.Min(*f.Trust.Odds, 1000))
	case f.Decides == "corrected":
		f.Sentence += " The corrected one decides because it is the wider: this car has not shown yet that its flow " +
			"tells its drag."
	default:
		f.Sentence += " The uncorrected one decides because it is the wider: this car has not shown yet that its flow " +
			"tells its drag. A ladder while it warms up, or more sittings a " +
			"side, would show it."
	}
}

func interval(e *stats.Estimate) string {
	if e == nil {
		return "not known"
	}
	return fmt.Sprintf("%.3f (%.3f to %.3f)", e.Value, e.CI95[0], e.CI95[1])
}
