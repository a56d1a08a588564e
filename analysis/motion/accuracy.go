package motion

import (
	"math"

	"flywitness/analysis/gearstate"
)

const (
	bestFit = 0.3 // nothing is known better than this share of what the smoother expects
	looser  = 1.5 // its residuals are smaller than the errors, since it follows both
)

// outlying is how many standard deviations of a locked engine a sample may be off and still tell how well the
// two speeds fit.
const outlying = 4.0

// FitOf is how well engine speed fits the smoothed road speed where the clutch is locked, against what the
// smoother expects: 1 as expected.
func (r *Record) FitOf() float64 {
	t := r.Track
	sum, n := 0.0, 0.0
	for _, run := range r.Runs {
		for i := run.Lo; i < run.Hi; i++ {
			if t.Clutch[i] != gearstate.Locked || t.T[i]-t.T[run.Lo] < pieceMargin || t.T[run.Hi-1]-t.T[i] < pieceMargin {
				continue
			}
			if e := t.SpeedKmh[i] + t.Excess[i] - r.State(i).V; math.Abs(e) < outlying*engineSD {
				sum, n = sum+e*e, n+1
			}
		}
	}
	if n == 0 {
		return 1
	}
	if w := t.Model.Averaged; w > t.Model.Period {
		sum *= w / t.Model.Period // an average of m values fits better, and so many of them tell no more than one
	}
	return math.Max(bestFit, math.Min(1, looser*math.Sqrt(sum/n)/engineSD))
}

// MeanAccelSD is the standard deviation (km/h/s) of the mean acceleration from sample first to sample last: of
// the speeds at either end.
func (r *Record) MeanAccelSD(first, last int) float64 {
	whole := math.Sqrt(float64(r.State(first).VarA))
	dt := r.Track.T[last] - r.Track.T[first]
	if dt <= 0 {
		return whole
	}
	return math.Min(math.Sqrt(float64(r.State(first).VarV+r.State(last).VarV))/dt, whole)
}
