package calibrate

import (
	"math"

	"flywitness/analysis/gearstate"
)

// A control unit's filter takes a tenth to six tenths of a second, a satellite receiver up to one and a half, and a
// link that writes one row of values asked for one after another adds up to its cycle, one way or the other.
const (
	usualLow, usualHigh   = -0.2, 2.0 // s of road speed that comes late
	lateSpeed, lateEngine = 1.8, 0.8  // s by which either may come late but for the cycle
)

// lags is the range of lags that is searched, s: road speed comes late, or engine speed does. On the slowest links a
// change of gear falls between two values, and where these are of different moments as well, short turns in a lower
// gear were taken for slip: there the usual lags alone are looked for.
func (p *pool) lags() (low, high float64) {
	if p.period > gearstate.SlowestLink {
		return usualLow, usualHigh
	}
	return -lateEngine - p.period, lateSpeed + p.period
}

// sharpestLag finds the lag without a ladder: at the right one the ratio of engine speed to road speed takes
// few values, so the histogram of its logarithm is as peaked as it gets. Short logs have more than one such lag, so a
// rare one is looked for only where the usual ones end with the sharpest.
func (p *pool) sharpestLag() float64 {
	lag := p.sharpestWithin(usualLow, usualHigh)
	if lag < usualLow+lagGrid || lag > usualHigh-lagGrid {
		lag = p.sharpestWithin(p.lags())
	}
	return lag
}

const lagGrid = 0.1 // s between the lags that are tried first; profileLag looks closer afterwards

func (p *pool) sharpestWithin(low, high float64) float64 {
	const bin = 0.012
	bins := int(math.Ceil((lnHigh-lnLow)/bin)) + 2
	best, bestScore := 0.2, 0.0
	readers := p.readers()
	lnV := make([][]float64, len(p.logs))
	for l, s := range p.logs {
		lnV[l] = make([]float64, len(s.Speed))
		for i := 0; i < len(s.Speed); i += s.stride() {
			lnV[l][i] = math.Log(s.Speed[i])
		}
	}
	h := make([]float64, bins)
	for lag := low; lag <= high; lag += lagGrid {
		clear(h)
		for l, s := range readers {
			stride := s.stride()
			for i := 0; i < len(s.Speed); i += stride {
				n, _ := s.engine(i, lag)
				if s.Speed[i] < minMoving || !(n > drivenRPM) {
					continue
				}
				x := (math.Log(n) - lnV[l][i] - lnLow) / bin
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

// profileLag refines a lag on a known ladder: the mean distance to the nearest gear, capped at 1.5 km/h, over a
// grid about the lag given, with a parabola through its minimum. Where that lies at the edge of the grid all
// lags are looked at.
func (p *pool) profileLag(rungs []rung, about, offset float64) float64 {
	readers := p.readers()
	search := func(lo, hi float64) (lag float64, inside bool) {
		const step = 0.05
		var score []float64
		for lag := lo; lag <= hi+1e-9; lag += step {
			score = append(score, distance(readers, rungs, lag, offset))
		}
		b := 0
		for i, s := range score {
			if s < score[b] {
				b = i
			}
		}
		lag = lo + float64(b)*step
		if b == 0 || b+1 == len(score) {
			return lag, false
		}
		if d := score[b-1] - 2*score[b] + score[b+1]; d > 0 {
			lag += 0.5 * step * (score[b-1] - score[b+1]) / d
		}
		return lag, true
	}
	lag, inside := search(about-0.3, about+0.3)
	if !inside {
		lag, _ = search(p.lags())
	}
	return lag
}

// distance is the mean distance (km/h, at most 1.5) of the samples from their nearest gear at a lag.
func distance(readers []*reader, rungs []rung, lag, offset float64) float64 {
	sum, weight := 0.0, 0.0
	inv := make([]float64, len(rungs))
	for g, r := range rungs {
		inv[g] = 1 / r.k
	}
	for _, s := range readers {
		for i, stride := 0, s.stride(); i < len(s.Speed); i += stride {
			n, _ := s.engine(i, lag)
			if s.Speed[i] < minMoving || !(n > drivenRPM) {
				continue
			}
			e := 1.5
			for _, x := range inv {
				e = min(e, math.Abs(n*x-s.Speed[i]-offset))
			}
			sum += e * s.dt[i]
			weight += s.dt[i]
		}
	}
	return sum / math.Max(weight, 1)
}
