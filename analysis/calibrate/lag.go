package calibrate

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/internal/parts"
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
	var lags []float64
	for lag := low; lag <= high; lag += lagGrid {
		lags = append(lags, lag)
	}
	lnV := make([][]float64, len(p.logs))
	for l, s := range p.logs {
		lnV[l] = make([]float64, len(s.Speed))
		for i := 0; i < len(s.Speed); i += s.stride() {
			lnV[l][i] = math.Log(s.Speed[i])
		}
	}
	best, bestScore := 0.2, 0.0
	for i, score := range p.overLags(lags, func(r []*reader, lag float64) float64 { return sharpness(r, lnV, lag) }) {
		if score > bestScore {
			best, bestScore = lags[i], score
		}
	}
	return best
}

// overLags returns a measure of the signals at each of some lags, neighbours one after another.
func (p *pool) overLags(lags []float64, measure func(readers []*reader, lag float64) float64) []float64 {
	out := make([]float64, len(lags))
	parts.ByCore(len(lags), func(lo, hi int) {
		readers := p.readers()
		for i := lo; i < hi; i++ {
			out[i] = measure(readers, lags[i])
		}
	})
	return out
}

// sharpness is how peaked the histogram of ln(engine speed / road speed) is at a lag; lnV are the logarithms of road
// speed.
func sharpness(readers []*reader, lnV [][]float64, lag float64) (score float64) {
	const bin = 0.012
	bins := int(math.Ceil((lnHigh-lnLow)/bin)) + 2
	h := make([]float64, bins)
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
	for _, w := range h {
		score += w * w
	}
	return score
}

// profileLag refines a lag on a known ladder: the mean distance to the nearest gear, capped at 1.5 km/h, over a
// grid about the lag given, with a parabola through its minimum. Where that lies at the edge of the grid all
// lags are looked at.
func (p *pool) profileLag(rungs []rung, about, offset float64) float64 {
	search := func(lo, hi float64) (lag float64, inside bool) {
		const step = 0.05
		var lags []float64
		for lag := lo; lag <= hi+1e-9; lag += step {
			lags = append(lags, lag)
		}
		score := p.overLags(lags, func(r []*reader, lag float64) float64 { return distance(r, rungs, lag, offset) })
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
