package text

import (
	"flywitness/analysis"
	"flywitness/analysis/practice"
	"flywitness/job"
)

// cautions are what a reader must know before he acts on the result.
func cautions(r *analysis.Result) []string {
	about := []practice.Activity{practice.Reading}
	if r.Job != nil && r.Job.Site == job.OnRollers {
		about = append(about, practice.OnRollers)
	} else if r.Command != "learn" {
		about = append(about, practice.Driving)
	}
	if r.Slip != nil || r.Compare != nil {
		about = append(about, practice.Pulling)
	}
	if r.Inertia != nil || r.Compare != nil {
		about = append(about, practice.FreeRevs, practice.Coasting)
	}
	if r.Compare != nil {
		about = append(about, practice.Modifying, practice.Fitting)
	}
	return append(practice.Cautions(about...), practice.Cautions(practice.Publishing)...)
}

// caution picks what must stand beside the verdict: what a result is, and to lift where a clutch slips.
func caution(answers []Answer) []string {
	out := practice.Cautions(practice.Reading)
	for _, a := range answers {
		if pulling := practice.Cautions(practice.Pulling); a.Slips && a.Tone == Act && len(pulling) > 0 {
			return append(out, pulling[0])
		}
	}
	return out
}
