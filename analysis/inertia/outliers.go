package inertia

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// A run is refused only when it is surely another thing than the rest: a throttle a few per cent open halves
// the drag. What lies nearer is down-weighted by the robust means; to refuse it as well would make the interval
// too short.
const (
	outlierMADs   = 5
	outlierFloor  = 0.06 // relative
	outlierTiming = 4.0  // standard deviations of its own timing
	fewestBeside  = 4    // runs among which one can stand out
	cubicFrom     = 9    // samples from which a fall shows a third degree
)

// settleRates refuses runs whose rate of fall stands out from the other runs of their kind, which is how a
// throttle that was not shut shows when nobody recorded it.
func (f *Finding) settleRates() {
	for _, kind := range []Kind{RevDown, RollingRevDown} {
		for range 3 { // an outlier widens the spread that others are judged by
			runs := f.FreeRevs(kind)
			if len(runs) < fewestBeside || !refuseOutliers(runs) {
				break
			}
		}
	}
}

// refuseOutliers refuses the runs far from their session's median; it tells whether there were any.
func refuseOutliers(runs []*Run) bool {
	shape, err := ShapeOf(runs)
	if err != nil {
		return false
	}
	y, session := make([]float64, len(runs)), map[int][]float64{}
	for i, r := range runs {
		y[i] = math.Log(shape.Runs[i].B)
		session[r.Session] = append(session[r.Session], y[i])
	}
	found := false
	for i, r := range runs {
		own := session[r.Session]
		if len(own) < fewestBeside {
			continue
		}
		m := stats.Median(own)
		limit := max(outlierMADs*stats.MADScale*stats.MAD(own, m), outlierFloor,
			outlierTiming*math.Sqrt(shape.Runs[i].VarLnB))
		if d := y[i] - m; math.Abs(d) > limit {
			r.refuse(finding.DiffersFromOthers, finding.Pct("off", 100*math.Abs(math.Expm1(-d))), finding.Flag("faster", d < 0))
			found = true
		}
	}
	return found
}

// ShapeOf fits the common shape to the kept samples of runs. The degree of the shape follows the number of samples: a
// fall of few samples cannot carry a curved slowness.
func ShapeOf(runs []*Run) (*Shape, error) {
	var in []ShapeRun
	var counts []float64
	low, high := math.Inf(1), 0.0
	for _, r := range runs {
		in = append(in, ShapeRun{T: r.T, RPM: r.RPM})
		counts = append(counts, float64(len(r.T)))
		for _, v := range r.RPM {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	if len(in) == 0 {
		return nil, errShape
	}
	return FitShape(in, low, high, DegreeFor(counts))
}

// DegreeFor returns the degree of the common shape for runs of so many samples: a parabola in time for few samples, a
// cubic from about ten.
func DegreeFor(samples []float64) int {
	if stats.Median(samples) < cubicFrom {
		return 2
	}
	return 3
}
