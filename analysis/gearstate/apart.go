package gearstate

import (
	"math"
	"sort"

	"flywitness/analysis/stats"
)

// apartSamples is how many samples of road speed tell well enough how far engine speed stands from them.
const apartSamples = 1000

// apart is how far (s) from the moment of a road speed, its lag removed, the next value of engine speed stands: half of
// the samples are nearer. What is read there of an engine is worked out between two values, and a change of gear may lie
// between the sample and either.
func (s *Signals) apart(lag float64) float64 {
	var all []float64
	for i := 0; i < len(s.SpeedT); i += 1 + len(s.SpeedT)/apartSamples {
		at := s.SpeedT[i] - lag
		if j := sort.SearchFloat64s(s.RPMT, at); j > 0 && j < len(s.RPMT) {
			all = append(all, math.Min(at-s.RPMT[j-1], s.RPMT[j]-at))
		}
	}
	if len(all) == 0 {
		return 0
	}
	return stats.Median(all)
}
