package analysis

import (
	"fmt"
	"math"

	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/job"
)

// Job runs a whole job: diagnosis with a before side only, "does it hold" with an after side only, the comparison with both.
func Job(j *job.Job, before, after Set) *Result {
	r := newResult("job", before, after)
	r.compare(before, after, jobOptions(j))
	r.Slip = r.Compare.SlipAfter
	if r.Slip == nil {
		r.Slip = r.Compare.SlipBefore
	}
	r.Job = &JobInfo{Title: j.Title, Done: j.Done, Site: j.Site, KmSinceFitted: j.KmSinceFitted, BedInKm: j.BedInKm,
		FootOnClutch: j.FootOnClutch, Checklist: j.Checklist, ClutchClaim: judgeClutchClaim(j.Claim, r.Compare.SlipAfter)}
	for _, f := range j.Facts {
		r.Job.Facts = append(r.Job.Facts, [2]string{f.Name, f.Value})
	}
	for _, e := range j.Excluded {
		for _, path := range e.Files {
			r.Job.Excluded = append(r.Job.Excluded, [2]string{path, e.Reason})
		}
	}
	return r
}

// jobOptions spreads what a job file says over the steps. Bedding-in concerns the new clutch alone.
func jobOptions(j *job.Job) CompareOptions {
	rollers := j.Site == "rollers"
	free := inertia.Options{FootOnClutch: j.FootOnClutch, Rollers: rollers}
	if j.WindowRPM != nil {
		free.Window = *j.WindowRPM
	}
	opt := CompareOptions{
		Slip:    [2]slip.Options{{Rollers: rollers}, {Rollers: rollers, KmSinceFitted: j.KmSinceFitted, BedInKm: j.BedInKm}},
		Inertia: [2]inertia.Options{free, free},
		Compare: compare.Options{Checklist: j.Checklist, Margin: j.MarginPct / 100, Claim: inertiaPromise(j.Claim)},
	}
	for _, p := range j.Parts {
		opt.Compare.Parts = append(opt.Compare.Parts, knownPart(p))
	}
	return opt
}

// knownPart keeps a part of which only the change is known as a change from nothing: only the difference is used.
func knownPart(p job.Part) compare.KnownPart {
	if math.IsNaN(p.Before) || math.IsNaN(p.After) {
		return compare.KnownPart{Name: p.Name, Before: math.Max(0, -p.Change), After: math.Max(0, p.Change), ChangeSD: p.ChangeSD}
	}
	return compare.KnownPart{Name: p.Name, Before: p.Before, After: p.After, ChangeSD: p.ChangeSD}
}

// inertiaPromise is the part of a claim that concerns inertia, nil when there is none.
func inertiaPromise(c *job.Claim) *compare.Promise {
	if c == nil || c.EquivalentMass == nil && c.InertiaChange == nil && c.ReductionPct == nil {
		return nil
	}
	p := &compare.Promise{Gear: c.Gear}
	if c.EquivalentMass != nil {
		p.EquivalentMass = *c.EquivalentMass
	}
	if c.InertiaChange != nil {
		p.InertiaChange = *c.InertiaChange
	}
	if c.ReductionPct != nil {
		p.ReductionPct = *c.ReductionPct
	}
	return p
}

// judgeClutchClaim sets the torque that the clutch was said to hold against the torque that it was seen to hold. A claim
// above what was driven is neither shown nor refuted.
func judgeClutchClaim(c *job.Claim, after *slip.Finding) *ClutchClaim {
	claimed, ok := c.ClutchTorque()
	if !ok {
		return nil
	}
	out := &ClutchClaim{StatedTorque: claimed, Verdict: "cannot_tell"}
	switch {
	case after == nil:
		out.Reason = "there is no log from after the work"
	case after.Verdict == slip.Slips:
		out.Measured = after.OnsetTorque
		if after.OnsetTorque == nil {
			out.Reason = "the clutch slips, but the torque at which it does is not known without the vehicle's mass, tyre and ratios"
		} else if after.OnsetTorque.CI95[1] < claimed {
			out.Verdict = "not_supported"
			out.Reason = fmt.Sprintf("the clutch slipped from about %.0f N m, below the claimed %.0f N m", after.OnsetTorque.Value, claimed)
		} else {
			out.Reason = "the clutch slips, at a torque that cannot be told apart from the claimed one"
		}
	case after.Verdict == slip.Holds:
		out.Measured = after.HighestTorqueHeld
		held := after.HighestTorqueHeld
		if held != nil && held.CI95[0] >= claimed {
			out.Verdict = "supported"
			out.Reason = fmt.Sprintf("no slip was seen up to %.0f N m", held.Value)
		} else if held != nil {
			out.Reason = fmt.Sprintf("no slip was seen, but only %.0f N m were driven; the claim needs %.0f N m", held.Value, claimed)
		} else {
			out.Reason = "no slip was seen, but the torque that was driven is not known without the vehicle's mass, tyre and ratios"
		}
	default:
		out.Reason = after.Reason
	}
	return out
}

// ClutchClaim is the torque that the clutch was said to hold, and what was seen.
type ClutchClaim struct {
	StatedTorque float64         `json:"stated_torque_nm"`
	Measured     *stats.Estimate `json:"measured_torque_nm"` // held, or at the start of slip
	Verdict      string          `json:"verdict"`            // supported | not_supported | cannot_tell
	Reason       string          `json:"reason"`
}
