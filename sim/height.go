package sim

import "math/rand/v2"

// seaLevel is how high the drives begin, m.
const seaLevel = 140.0

// heights is the height above the sea that a satellite receiver shows, m.
func (lg Logger) heights(tr *Truth, rng *rand.Rand) []float64 {
	out := make([]float64, tr.Len())
	if lg.HeightWander > 0 && rng != nil {
		out = wander(tr, lg.HeightWander, lg.HeightTau, rng)
	}
	scale := lg.HeightScale
	if scale == 0 {
		scale = 1
	}
	h := seaLevel
	for i := range out {
		h += tr.Grade[i] * tr.GroundKmh[i] / 3.6 * tr.Step
		out[i] += h * scale
		if lg.HeightNoise > 0 && rng != nil {
			out[i] += lg.HeightNoise * rng.NormFloat64()
		}
	}
	return out
}
