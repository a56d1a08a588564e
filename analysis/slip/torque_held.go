package slip

import (
	"math"

	"flywitness/analysis/stats"
)

// heldTorque is the greatest torque that was held. One pull's torque carries the slope of the road under it;
// the greatest of many pulls would be the one that ran downhill. Full-load pulls in one gear ask the same
// torque of the clutch, so their mean is taken, gear by gear, and the surest of these, by the lower end of its
// interval. Without a full-load pull the greatest single one stands. nil when no torque is known.
func (j *judge) heldTorque() *stats.Estimate {
	byGear := map[int][]*stats.Estimate{}
	var single *stats.Estimate
	for _, p := range j.out.Pulls {
		h := p.HeldTorque
		if h == nil {
			continue
		}
		if single == nil || h.Value > single.Value {
			single = h
		}
		if p.FullLoad {
			byGear[p.Gear] = append(byGear[p.Gear], h)
		}
	}
	var best *stats.Estimate
	for _, g := range j.cal.Gears {
		if e := j.meanTorque(byGear[g.Gear]); e != nil && (best == nil || e.CI95[0] > best.CI95[0]) {
			best = e
		}
	}
	if best == nil {
		return single
	}
	return best
}

// meanTorque is the mean of torques from pulls of their own; what mass, efficiency and tyre add to the error
// they have in common. nil of none.
func (j *judge) meanTorque(torques []*stats.Estimate) *stats.Estimate {
	n := float64(len(torques))
	if n == 0 {
		return nil
	}
	sum, variance := 0.0, 0.0
	for _, e := range torques {
		sum += e.Value
		variance += e.SD * e.SD
	}
	mean := sum / n
	common := math.Hypot(j.force.MassSD/j.force.Mass, j.force.ScaleSD()) * mean
	own := math.Max(0, variance/n-common*common)
	return stats.Normal(mean, math.Sqrt(common*common+own/n))
}

// blind tells whether no log says how hard the engine worked.
func (j *judge) blind() bool {
	for _, r := range j.records {
		if r.Track.Model.Load.Channel != "" {
			return false
		}
	}
	return true
}
