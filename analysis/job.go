package analysis

import (
	"math"

	"flywitness/analysis/air"
	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/promise"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/job"
)

// Job runs a whole job: diagnosis with a before side only, "does it hold" with an after side only, the
// comparison with both. ladder may have no logs.
func Job(j *job.Job, before, after, ladder Set) *Result {
	before, after = before.inOrder(), after.inOrder()
	r := newResult("job", before, after)
	opt := jobOptions(j)
	opt.Ladder = ladder
	r.compare(before, after, opt)
	r.Slip = r.Compare.SlipAfter
	if r.Slip == nil {
		r.Slip = r.Compare.SlipBefore
	}
	r.Job = &JobInfo{Title: j.Title, Done: j.Done, Site: j.Site, DryRoad: j.DryRoad,
		KmSinceFitted: j.KmSinceFitted, BedInKm: j.BedInKm, FootOnClutch: j.FootOnClutch, Checklist: j.Checklist,
		ClutchClaim: judgeClutchClaim(j.Claim, r.Compare.SlipAfter)}
	r.handOver(j)
	if j.StandardAir != "" {
		r.ToStandardAir(air.Method(j.StandardAir), before, after)
	}
	for _, f := range j.Facts {
		r.Job.Facts = append(r.Job.Facts, [2]string{f.Name, f.Value})
	}
	for _, e := range j.Excluded {
		for _, path := range e.Files {
			r.Job.Excluded = append(r.Job.Excluded, [2]string{path, e.Reason})
		}
	}
	r.collect()
	return r
}

// jobOptions spreads what a job file says over the steps. Bedding-in concerns the new clutch alone.
func jobOptions(j *job.Job) CompareOptions {
	rollers := j.Site == job.OnRollers
	free := inertia.Options{FootOnClutch: j.FootOnClutch, Rollers: rollers}
	if j.WindowRPM != nil {
		free.Window = *j.WindowRPM
	}
	driven := slip.Options{Rollers: rollers, DryRoad: j.DryRoad}
	fitted := driven
	fitted.KmSinceFitted, fitted.BedInKm = j.KmSinceFitted, j.BedInKm
	opt := CompareOptions{
		Slip:    [2]slip.Options{driven, fitted},
		Inertia: [2]inertia.Options{free, free},
		Compare: compare.Options{Checklist: j.Checklist, Margin: j.MarginPct / 100, Claim: changePromise(j.Claim),
			SameDay:  j.Held.SameDay,
			IdleFlow: j.Held.IdleFlow, FlowParts: j.Held.Changed},
	}
	for _, p := range j.Parts {
		opt.Compare.Parts = append(opt.Compare.Parts, knownPart(p))
	}
	return opt
}

// knownPart keeps a part of which only the change is known as a change from nothing: only the difference is used.
func knownPart(p job.Part) compare.KnownPart {
	if math.IsNaN(p.Before) || math.IsNaN(p.After) {
		return compare.KnownPart{Name: p.Name, Before: math.Max(0, -p.Change), After: math.Max(0, p.Change),
			ChangeSD: p.ChangeSD}
	}
	return compare.KnownPart{Name: p.Name, Before: p.Before, After: p.After, ChangeSD: p.ChangeSD}
}

// changePromise is the part of a claim that concerns what the change is worth, nil when there is none.
func changePromise(c *job.Claim) *promise.Promise {
	if c == nil {
		return nil
	}
	p := &promise.Promise{Gear: c.Gear, FromKmh: c.FromKmh, ToKmh: c.ToKmh}
	for _, x := range []struct {
		kind   promise.Kind
		amount *float64
		factor float64
	}{{promise.Mass, c.EquivalentMass, 1}, {promise.Acceleration, c.AccelerationGain, 1},
		{promise.Power, c.EquivalentPower, 1e-3},
		{promise.Seconds, c.SavedSeconds, 1}, {promise.Inertia, c.InertiaChange, 1},
		{promise.InertiaPct, c.ReductionPct, 1}, {promise.PartMass, c.MassOff, 1}} {
		if x.amount != nil {
			p.Kind, p.Amount = x.kind, *x.amount*x.factor
		}
	}
	if p.Kind == promise.Power {
		p.AtRPM = c.AtRPM
	}
	if p.Kind == "" {
		return nil
	}
	return p
}

// clutchPromise is the part that concerns the clutch, nil when there is none.
func clutchPromise(c *job.Claim) *promise.Promise {
	switch {
	case c == nil:
		return nil
	case c.Torque != nil:
		return &promise.Promise{Kind: promise.Torque, Amount: *c.Torque}
	case c.Power != nil:
		return &promise.Promise{Kind: promise.ClutchPower, Amount: *c.Power / 1000, AtRPM: c.AtRPM}
	}
	return nil
}

// judgeClutchClaim sets the torque that the clutch was said to hold against the torque that it was seen to hold.
func judgeClutchClaim(c *job.Claim, after *slip.Finding) *ClutchClaim {
	p := clutchPromise(c)
	if p == nil {
		return nil
	}
	var seen promise.Clutch
	switch {
	case after == nil:
		seen.Why = finding.Say(finding.New(finding.NoLogAfter))
	case after.Verdict == slip.Slips:
		seen.Slips, seen.Torque = true, after.OnsetTorque
	case after.Verdict == slip.Holds:
		seen.Torque = after.HighestTorqueHeld
	default:
		seen.Why = after.Reason
	}
	o := p.JudgeClutch(seen)
	return &ClutchClaim{StatedTorque: p.ClutchTorque(), Measured: seen.Torque, Verdict: o.Verdict(), Outcome: o,
		Stated: p.Stated(),
		Reason: p.ClutchSentence(seen, o), Promise: *p, Seen: seen}
}

// ClutchClaim is the torque that the clutch was said to hold, and what was seen.
type ClutchClaim struct {
	StatedTorque float64         `json:"stated_torque_nm"`
	Measured     *stats.Estimate `json:"measured_torque_nm"` // held, or at the start of slip
	Verdict      promise.Verdict `json:"verdict"`
	Outcome      promise.Outcome `json:"outcome"` // the same in five
	Reason       finding.Text    `json:"reason"`  // with both numbers

	Stated  map[string]float64 `json:"stated"` // as it was made
	Promise promise.Promise    `json:"-"`
	Seen    promise.Clutch     `json:"-"`
}
