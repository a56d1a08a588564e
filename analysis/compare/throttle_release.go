package compare

import (
	"math"
	"slices"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
)

// topTrims are the cuts after the release at which the ratio is tried, s: if it moves by more than its own error, the
// first moments of the falls belong to the throttle or the sensor, and the longer cut stands.
var topTrims = []float64{0.35, 0.6, 0.9}

const (
	lateTrim  = 0.2 // s after the release from which what it left behind is fitted
	lateShows = 2.5 // of its own standard errors; less is no reason for one more unknown
	lateSeen  = 0.2 // s between samples beyond which the highest one is no longer near the release
)

// muchLess is how much larger the variance may become by a longer cut. Where so little of the falls is left it
// tells nothing of the cut.
const muchLess = 4

// settleTrim fits with the first cut, and with what the release left behind where the runs show it; then with a
// longer cut as long as that moves the answer.
func settleTrim(before, after []*inertia.Run, kind inertia.Kind, low, high float64) *ratio {
	r := fitRatio(before, after, kind, low, high, topTrims[0])
	if r == nil {
		return nil
	}
	if late := fitLate(before, after, kind, low, high); late != nil && len(late.runs) >= len(r.runs) {
		r = late
	}
	runs, open := len(r.runs), 0.0
	for _, trim := range topTrims[1:] {
		longer := fitRatio(before, after, kind, low, high, trim)
		if longer == nil || len(longer.runs) < runs || longer.variance > muchLess*r.variance {
			break
		}
		if disagree(longer, r) {
			r, open = longer, 0
			r.moved = true
			continue
		}
		// What the cut moves the answer by without being proved is an uncertainty: the start of the falls is
		// not quite clean.
		if d, t, ok := paired(longer, r); ok {
			open = math.Max(open, d*d-2*stats.Square(d/t.T))
		}
	}
	r.trimVar = open
	r.variance += open
	return r
}

// fitLate fits the runs from nearer the release together with what it left behind; nil where they do not show
// that there is any. All runs of both sides tell of it, so it is seen long before it moves their ratio by as
// much as chance does.
func fitLate(before, after []*inertia.Run, kind inertia.Kind, low, high float64) *ratio {
	r := &ratio{kind: kind, low: low, high: high, trim: lateTrim, late: true}
	in := r.gather(before, after)
	if in == nil {
		return nil
	}
	clean := slices.Clone(in)
	plain, err := fitShape(clean)
	if err != nil || interval(clean) > lateSeen {
		return nil
	}
	for i, run := range r.runs {
		top := plain.G(run.Peak())
		for _, n := range in[i].RPM {
			in[i].Since = append(in[i].Since, plain.Runs[i].B*(top-plain.G(n)))
		}
	}
	shape, err := fitShape(in)
	if err != nil || shape.CovQ == nil || !r.compare(shape) {
		return nil
	}
	last := shape.CovQ.SymmetricDim() - 1
	if -shape.D < lateShows*math.Sqrt(shape.CovQ.At(last, last)) {
		return nil
	}
	// Fuel that comes back at an engine speed bends the shape too, and that is no matter of time.
	if bent, err := inertia.FitShape(clean, shape.Low, shape.High, degree(clean)+1); err == nil &&
		misfit(bent) < misfit(shape) {
		return nil
	}
	return r
}

// interval is the median time between samples, s.
func interval(in []inertia.ShapeRun) float64 {
	var steps []float64
	for _, r := range in {
		steps = append(steps, stats.MedianStep(r.T))
	}
	return stats.Median(steps)
}

// misfit is the weighted mean square of the residuals, s^2.
func misfit(s *inertia.Shape) float64 {
	sum, weight := 0.0, 0.0
	for _, r := range s.Runs {
		for j, e := range r.Residual {
			sum += r.Weight[j] * e * e
			weight += r.Weight[j]
		}
	}
	return sum / weight
}

// paired compares the answer from a part of each fall with that from more of it. What the runs themselves
// scatter by is in both, so the standard error is that of the runs' own differences, with what the shape that
// bridges different engine speeds is less sure of in the part. ok is false with fewer than two runs a side in
// both.
func paired(part, all *ratio) (difference float64, t stats.TTest, ok bool) {
	was := map[*inertia.Run]float64{}
	for i, run := range all.runs {
		was[run] = all.y[i]
	}
	var d [2][]float64
	for i, run := range part.runs {
		if y, ok := was[run]; ok {
			d[side(part.after[i])] = append(d[side(part.after[i])], part.y[i]-y)
		}
	}
	a, b := stats.Summarise(d[0]), stats.Summarise(d[1])
	if t, ok = stats.Pooled(a, b); !ok || t.T == 0 {
		return 0, t, false
	}
	difference = a.Mean - b.Mean
	runs, shape := stats.Square(difference/t.T), math.Max(0, part.shapeVar-all.shapeVar)
	t.DF = stats.Satterthwaite([]float64{runs, shape}, []float64{t.DF, math.Inf(1)})
	t.T = difference / math.Sqrt(runs+shape)
	t.P = stats.TwoSided(t.T, t.DF)
	return difference, t, true
}

// surely is the chance below which two ratios of one pair of sides are not one.
const surely = 0.001

// disagree tells whether the answers differ by more than chance allows, and by so much that what the part is
// freed of outweighs what it loses in precision. The test is strict, because a needless switch costs precision.
func disagree(part, all *ratio) bool {
	d, t, ok := paired(part, all)
	return ok && t.P < surely && d*d-stats.Square(d/t.T) > part.variance-all.variance
}
