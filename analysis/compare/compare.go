package compare

import (
	"flywitness/analysis/drag"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/inertia"
	"flywitness/analysis/promise"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/job"
	"flywitness/vehicle"
)

// Side is everything known of the car before or after the job. Any part may be missing; what can be had without it is
// given, and what cannot is said.
type Side struct {
	Logs         []*drive.Log
	Tracks       []*gearstate.Track // one for each log, or nil
	Vehicle      *vehicle.Vehicle   // nil when not given
	Inertia      *inertia.Finding
	Slip         *slip.Finding
	Sessions     []int // session of each log; nil: each log is a session of its own
	FootOnClutch *bool // in the free revs; nil when it was not told
}

// Options says what is known of the comparison beside the logs.
type Options struct {
	Checklist bool    // consumers off, battery charged, 20 minutes driven, equal oil temperature: recorded for both sides
	Margin    float64 // equivalence margin of the inertia ratio; 0: UsualMargin
	Parts     []KnownPart
	Claim     *promise.Promise

	// Of the held engine: both sides in one day, so that fuel, meter and weather are the same; nobody could
	// hold it, so that idle stands in; what the job changed on which the flow rests.
	SameDay, IdleFlow bool
	FlowParts         []string
	Ladder            *drag.Ladder // of this car; nil where none was driven
}

// KnownPart is one part that was swapped, with its inertia from its shape or from a pendulum. kg m^2.
type KnownPart struct {
	Name          string
	Before, After float64
	ChangeSD      float64 // of After - Before; 0: 3 % of the larger of the two
}

func (o Options) margin() float64 {
	if o.Margin > 0 {
		return o.Margin
	}
	return UsualMargin
}

// UsualMargin is the equivalence margin of a comparison that states none.
const UsualMargin = job.DefaultMarginPct / 100.0

// Compare sets before against after. It never fails: what cannot be had is nil, and a warning says why.
func Compare(before, after Side, opt Options) (*Finding, []finding.Finding) {
	c := &comparison{before: before, after: after, opt: opt, finding: &Finding{
		Verdict: Inconclusive, WhatToDrive: []finding.Text{}, ByGear: []ByGear{}, SpanTimes: []SpanTime{},
		Before: before.Inertia, After: after.Inertia, SlipBefore: before.Slip, SlipAfter: after.Slip,
	}}
	c.identity()
	c.measureRatio()
	c.combineInertias()
	c.judge()
	c.doubtSides()
	c.value()
	c.drivability()
	c.judgeClaim()
	return c.finding, c.warnings
}

// comparison is the state of one Compare.
type comparison struct {
	before, after Side
	opt           Options
	finding       *Finding
	warnings      []finding.Finding

	otherCar      bool
	ratio         *ratio
	answer        *answer
	ratioDF       float64            // degrees of freedom of the free revs' ratio
	joint         *joint             // the measurements of both inertias, nil where they tell too little
	fit           *stats.Combination // and what they come to
	worth         *worth             // what the change is worth is worked out from this; nil where it cannot be
	blocked       *finding.Finding   // why free revs may not decide, nil when they may
	dragDecides   bool               // the ratio has the drag of the sittings taken out
	contradiction bool               // the ways to the inertia contradict each other
	partsOnly     bool               // the known parts alone tell the change
	// the answer rests on something else where the free revs may not decide or are missing
	carried bool
}

func (c *comparison) sides() [2]*Side { return [2]*Side{&c.before, &c.after} }

func (c *comparison) warn(code finding.Code, values ...finding.Value) {
	c.warnings = append(c.warnings, finding.New(code, values...))
}

// because gives the reason of the verdict.
func (c *comparison) because(code finding.Code, values ...finding.Value) {
	c.finding.Reason = finding.Say(finding.New(code, values...))
}

// advise adds something to do.
func (c *comparison) advise(f finding.Finding) {
	c.finding.WhatToDrive = append(c.finding.WhatToDrive, finding.Say(f))
}
