package slip

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
)

// heldTorque is the greatest torque that was held. One pull's torque carries the slope of the road under it; the greatest of many pulls would be the
// one that ran downhill. Full-load pulls in one gear ask the same torque of the clutch, so their mean is taken, gear by gear, and the
// surest of these, by the lower end of its interval. Without a full-load pull the greatest single one stands. nil when no torque is known.
func (j *judge) heldTorque() *stats.Estimate {
	byGear := map[int][]*stats.Estimate{}
	var single *stats.Estimate
	for i, p := range j.out.Pulls {
		h := p.HeldTorque
		if h == nil {
			continue
		}
		if single == nil || h.Value > single.Value {
			single = h
		}
		if j.full[i] {
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

// meanTorque is the mean of torques from pulls of their own; what mass, efficiency and tyre add to the error they have in common. nil of none.
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
	common := math.Hypot(j.force.massSD/j.force.mass, j.force.scaleSD()) * mean
	own := math.Max(0, variance/n-common*common)
	return stats.Normal(mean, math.Sqrt(common*common+own/n))
}

// blind tells whether no log says how hard the engine worked.
func (j *judge) blind() bool {
	for _, r := range j.records {
		if r.track.Model.Load.Channel != "" {
			return false
		}
	}
	return true
}

// fullByTorque marks the pulls that asked about the highest torque of the logs as the full ones, where nothing else tells how hard the engine
// worked. The verdict then states that torque.
func (j *judge) fullByTorque() {
	top := 0.0
	for _, p := range j.out.Pulls {
		if p.PeakTorque != nil {
			top = math.Max(top, p.PeakTorque.Value)
		}
	}
	for i, p := range j.out.Pulls {
		j.full[i] = p.PeakTorque != nil && top > 0 && p.PeakTorque.Value >= fullFrom*top
	}
}

// peakTorque is the largest clutch torque that lasted for some seconds within a stretch.
func (r *record) peakTorque(s *stretch, f *roadForce, lasting float64) *stats.Estimate {
	if !f.known() || f.arm(s.run.gear) == 0 {
		return nil
	}
	t := r.track.T
	best, at, end := math.Inf(-1), -1, -1
	for i := s.lo; i < s.hi; i++ {
		low := math.Inf(1)
		j := i
		for ; j < s.hi && t[j]-t[i] < lasting; j++ {
			low = math.Min(low, r.clutchAt(f, s.run.gear, j))
		}
		if j == s.hi {
			break
		}
		if low > best {
			best, at, end = low, i, j-1
		}
	}
	if at < 0 || math.IsInf(best, 0) {
		return nil
	}
	m := r.motion[at]
	own := f.mass * r.fit * r.meanAccelSD(at, end) / 3.6 * f.arm(s.run.gear)
	return stats.Normal(best, math.Hypot(own, f.commonError(s.run.gear, best, m.a, m.v, r.slopeError(at))))
}

const (
	bestFit = 0.3 // nothing is known better than this share of what the smoother expects
	looser  = 1.5 // its residuals are smaller than the errors, since it follows both
)

// fitOf is how well engine speed fits the smoothed road speed where the clutch is locked, against what the smoother expects: 1 as expected.
func (r *record) fitOf() float64 {
	t := r.track
	sum, n := 0.0, 0.0
	for _, run := range r.runs {
		for i := run.lo; i < run.hi; i++ {
			if t.Clutch[i] != gearstate.Locked || t.T[i]-t.T[run.lo] < pieceMargin || t.T[run.hi-1]-t.T[i] < pieceMargin {
				continue
			}
			if e := t.SpeedKmh[i] + t.Excess[i] - r.motion[i].v; math.Abs(e) < 4*engineSD {
				sum, n = sum+e*e, n+1
			}
		}
	}
	if n == 0 {
		return 1
	}
	return math.Max(bestFit, math.Min(1, looser*math.Sqrt(sum/n)/engineSD))
}
