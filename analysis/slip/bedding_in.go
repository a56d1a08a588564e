package slip

import (
	"math"
	"slices"

	"flywitness/finding"
)

// usualBedIn is the distance that bedding-in takes where the clutch's maker is not asked. Common practice, no source.
const usualBedIn = 500.0 // km

// bedIn is the distance that bedding-in takes.
func (o Options) bedIn() float64 {
	if o.BedInKm != nil {
		return *o.BedInKm
	}
	return usualBedIn
}

// beddingIn tells whether the clutch is known to be new and not bedded in.
func (o Options) beddingIn() bool { return o.KmSinceFitted != nil && *o.KmSinceFitted < o.bedIn() }

// notYet is the verdict on a clutch that is not bedded in: neither slip nor grip proves anything.
func (j *judge) notYet(slipped bool) {
	j.because(Inconclusive, finding.New(finding.NotBeddedIn, finding.Distance("driven", *j.opt.KmSinceFitted),
		finding.Distance("needed", j.opt.bedIn())))
	if slipped {
		j.out.Reason = append(j.out.Reason, finding.New(finding.NoFullLoadYet))
	}
	j.advise(finding.New(finding.BedInThenPulls, finding.Distance("needed", j.opt.bedIn())))
}

const (
	hotPulls  = 2   // full-load pulls that must have gone before
	hotWithin = 300 // s
)

// held says what holds means: up to which torque, in how many full-load pulls, whether the last was hot, and
// what would have shown.
func (j *judge) held() finding.Finding {
	o := j.out
	n, top := 0, 0.0
	inputs := map[int][]float64{}
	for i, p := range o.Pulls {
		if p.Verdict == Holds && p.FullLoad {
			n++
			top = math.Max(top, j.pulls[i].top)
			inputs[p.Input] = append(inputs[p.Input], p.Start)
		}
	}
	f := finding.New(finding.NoSlipSeen, finding.Count("pulls", n), finding.Flag("hardest", j.blind()),
		finding.Flag("hot", lastHot(inputs)),
		finding.Pct("slip", *o.SmallestDetectable), finding.Duration("lasting", *o.SmallestSeconds))
	if top < atItsBest*pullingRPM(j.veh) {
		f.Values = append(f.Values, finding.EngineSpeed("up_to", top))
	}
	if h := o.HighestTorqueHeld; h != nil {
		f.Values = append(f.Values, finding.Estimate("held", finding.NewtonMetres, h))
	}
	return f
}

// lastHot tells whether the last full-load pull of some log came soon after others.
func lastHot(inputs map[int][]float64) bool {
	for _, starts := range inputs {
		slices.Sort(starts)
		last := starts[len(starts)-1]
		before := 0
		for _, s := range starts[:len(starts)-1] {
			if last-s <= hotWithin {
				before++
			}
		}
		if before >= hotPulls {
			return true
		}
	}
	return false
}
