package inertia

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

const (
	// by which the engine's own torque may lie from that which moves the car before the mass is doubted
	torqueApart = 0.10
	fewPulls    = 2
	// doubtShare of the difference is the standard deviation: the truth may lie at either end, and what hangs
	// behind a car drags as well.
	doubtShare = 0.75
)

// massDoubt sets the engine's own torque channel, where one is logged, against the torque that the car's mass
// needs in its pulls. What was on board or behind the car and is not in its mass makes the two differ, and
// makes the inertia wrong in proportion; so does a channel that is mis-scaled. Which of them it is no log
// tells, so the difference goes into the error: ln of the ratio, 0 where they agree or nothing is known.
func (m *measurement) massDoubt(b *body, runs []*Run) float64 {
	guess := guessRoad(b.veh, b.massC)
	usual := b.veh.UsualInertia()
	var off []float64
	for _, r := range runs {
		if r.Kind != PullRun || len(r.T) < minKept {
			continue
		}
		s := m.scenes[r.Input]
		pct, reference := s.channel(drive.EngineTorque), s.channel(drive.ReferenceTorque)
		k := b.veh.TotalRatio(r.Gear) / math.Max(b.veh.Radius(), 1e-9)
		if pct == nil || reference == nil || !(k > 0) || b.veh.Radius() == 0 {
			continue
		}
		i, j := pct.between(r.T[0], r.T[len(r.T)-1])
		if j-i < torqueSamples {
			continue
		}
		told := stats.Summarise(pct.v[i:j]).Mean / 100 * reference.v[0]
		w := math.Pi / 30 * stats.Summarise(r.RPM).Mean
		alpha := math.Pi / 30 * (r.RPM[len(r.RPM)-1] - r.RPM[0]) / (r.T[len(r.T)-1] - r.T[0])
		force := b.massC * (alpha/k + guess.at(w/k*3.6)/3.6)
		if needed := force/(k*b.efficiency) + usual*alpha; needed > 0 && told > 0 {
			off = append(off, math.Log(told/needed))
		}
	}
	if len(off) < fewPulls {
		return 0
	}
	by := stats.Median(off)
	if math.Abs(by) <= torqueApart {
		return 0
	}
	m.warn(finding.MassDoubted, finding.Pct("off", 100*math.Expm1(by)), finding.Mass("mass", b.mass))
	return by
}
