package slip

import (
	"math"
	"sort"

	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"
)

// torqueBasis says where the torque comes from: whose road load, and how the slope of the road was bounded; or
// why there is none.
func (j *judge) torqueBasis() finding.Text {
	f := j.force
	if !f.Known() {
		return finding.Say(finding.New(f.Reason))
	}
	basis := finding.New(finding.TorqueBasis, finding.Flag("filed", f.Vehicle.RoadLoad != nil))
	if s := f.Grade.Coasted(); s > 0 {
		basis.Values = append(basis.Values, finding.Duration("coasted", s))
	}
	if sd := f.Vehicle.Gearbox.GearingSD; sd > 0 {
		basis.Values = append(basis.Values, finding.Pct("gearing", 100*sd))
	}
	return finding.Say(basis, j.slopeBasis())
}

// slopeBasis says how the slope of the road was bounded.
func (j *judge) slopeBasis() finding.Finding {
	slope, share, ok := j.slopeLeft()
	f := finding.New(finding.SlopeOpen, finding.Flag("blind", j.blind()))
	if s := j.force.Grade; s != nil {
		f = finding.New(finding.SlopeTold)
		if driven := s.Seconds(true); driven > 0 {
			f.Values = append(f.Values, finding.Quantity("driven", finding.Minutes, driven/60))
		}
		if climbed := s.Climbed(); climbed > 0 {
			f.Values = append(f.Values, finding.Quantity("climbed", finding.Kilometres, climbed/1000))
		}
	}
	f.Values = append(f.Values, finding.Pct("slope", 100*slope))
	if ok {
		f.Values = append(f.Values, finding.Pct("share", 100*share))
	}
	return f
}

// slopeLeft is the usual standard deviation of the slope under the pulls, and as a share of their torque;
// without pulls ok is false.
func (j *judge) slopeLeft() (slope, share float64, ok bool) {
	var slopes, shares []float64
	f := j.force
	for _, p := range j.out.Pulls {
		if p.PeakTorque == nil || p.PeakTorque.Value <= 0 {
			continue
		}
		r := j.records[p.Input]
		i := min(r.Track.Len()-1, sort.SearchFloat64s(r.Track.T, (p.Start+p.End)/2))
		sd := r.SlopeError(i)
		slopes = append(slopes, sd)
		shares = append(shares, sd*f.Vehicle.Mass*vehicle.Gravity*f.Arm(p.Gear)/p.PeakTorque.Value)
	}
	if len(slopes) == 0 {
		return vehicle.UsualSlopeSD, math.NaN(), false
	}
	return stats.Median(slopes), stats.Median(shares), true
}
