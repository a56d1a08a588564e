package calibrate

import (
	"math"
)

// lagRange is the range of lags that is searched (s). A slow link adds the poll offset inside its cycle.
func (p *pool) lagRange() (lo, hi float64) {
	if p.period > 0.7 {
		return -0.2, 1.6
	}
	return -0.1, 1.0
}

// sharpestLag finds the lag without a ladder: at the right one the ratio of engine speed to road speed takes few values, so the
// histogram of its logarithm is as peaked as it gets. It returns the sum of squared bins over the grid's best.
func (p *pool) sharpestLag() float64 {
	lo, hi := p.lagRange()
	const bin = 0.012
	bins := int(math.Ceil((lnHigh-lnLow)/bin)) + 2
	best, bestScore := 0.2, 0.0
	readers := p.readers()
	lnV := make([][]float64, len(p.logs))
	for l, s := range p.logs {
		lnV[l] = make([]float64, len(s.v))
		for i := 0; i < len(s.v); i += s.stride() {
			lnV[l][i] = math.Log(s.v[i])
		}
	}
	h := make([]float64, bins)
	for lag := lo; lag <= hi; lag += 0.1 {
		clear(h)
		for l, s := range readers {
			stride := s.stride()
			n, _ := s.engine(lag, stride)
			for i := 0; i < len(n); i += stride {
				if s.v[i] < minMoving || !(n[i] > 600) {
					continue
				}
				x := (math.Log(n[i]) - lnV[l][i] - lnLow) / bin
				b := int(x)
				if x < 0 || b+1 >= bins {
					continue
				}
				f := x - float64(b)
				w := s.dt[i] * float64(stride)
				h[b] += w * (1 - f)
				h[b+1] += w * f
			}
		}
		score := 0.0
		for _, w := range h {
			score += w * w
		}
		if score > bestScore {
			best, bestScore = lag, score
		}
	}
	return best
}

// profileLag refines a lag on a known ladder: the mean distance to the nearest gear, capped at 1.5 km/h, over a grid, with a parabola
// through its minimum.
func (p *pool) profileLag(rungs []rung, offset float64) float64 {
	lo, hi := p.lagRange()
	const step = 0.05
	var score []float64
	readers := p.readers()
	for lag := lo; lag <= hi+1e-9; lag += step {
		score = append(score, distance(readers, rungs, lag, offset))
	}
	b := 0
	for i, s := range score {
		if s < score[b] {
			b = i
		}
	}
	best := lo + float64(b)*step
	if b > 0 && b+1 < len(score) {
		if d := score[b-1] - 2*score[b] + score[b+1]; d > 0 {
			best += 0.5 * step * (score[b-1] - score[b+1]) / d
		}
	}
	return best
}

// distance is the mean distance (km/h, at most 1.5) of the samples from their nearest gear at a lag.
func distance(readers []*reader, rungs []rung, lag, offset float64) float64 {
	sum, weight := 0.0, 0.0
	inv := make([]float64, len(rungs))
	for g, r := range rungs {
		inv[g] = 1 / r.k
	}
	for _, s := range readers {
		stride := s.stride()
		n, _ := s.engine(lag, stride)
		for i := 0; i < len(n); i += stride {
			if s.v[i] < minMoving || !(n[i] > 600) {
				continue
			}
			e := 1.5
			for _, x := range inv {
				e = min(e, math.Abs(n[i]*x-s.v[i]-offset))
			}
			sum += e * s.dt[i]
			weight += s.dt[i]
		}
	}
	return sum / math.Max(weight, 1)
}
