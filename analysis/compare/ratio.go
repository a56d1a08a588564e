package compare

import (
	"math"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"

	"gonum.org/v1/gonum/mat"
)

// minRuns is how many free revs a side must have before a ratio is given.
const minRuns = 3

// topTrims are the cuts after the release at which the ratio is tried, s: if it moves by more than its own error, the
// first moments of the falls belong to the throttle or the sensor, and the longer cut stands.
var topTrims = []float64{0.35, 0.6, 0.9}

// muchLess is how much larger the variance may become by a longer cut. Where so little of the falls is left it tells nothing of the cut.
const muchLess = 4

// ratio is the inertia ratio from the free revs of both sides, before the session term.
type ratio struct {
	kind      inertia.Kind
	ln        float64 // ln(I_before / I_after)
	variance  float64 // of ln, from the scatter of the runs and the shape
	df        float64
	runs      []*inertia.Run
	after     []bool
	y, s2     []float64 // ln B of each run, and its error variance from the timing
	groups    *stats.Groups
	shape     *inertia.Shape
	shapeVar  float64
	trimVar   float64 // what the choice of the first moments leaves open
	low, high float64 // rpm
	trim      float64 // s
	warmth    *warmth // nil without a thermometer on both sides
	moved     bool    // the trim had to be made longer
	matched   bool    // both sides were cut to one window
}

// fitRatio fits the shared shape to the runs of one kind of both sides and compares their robust means; nil when there
// are too few.
func fitRatio(before, after []*inertia.Run, kind inertia.Kind, low, high, trim float64) *ratio {
	r := &ratio{kind: kind, low: low, high: high, trim: trim}
	var in []inertia.ShapeRun
	var counts []float64
	count := [2]int{}
	add := func(runs []*inertia.Run, side int) {
		for _, run := range runs {
			t, n := run.Trimmed(low, high, trim)
			if len(t) < 3 || n[0] < 1.25*n[len(n)-1] {
				continue
			}
			in = append(in, inertia.ShapeRun{T: t, RPM: n, Group: side})
			r.runs, r.after = append(r.runs, run), append(r.after, side == 1)
			counts = append(counts, float64(len(t)))
			count[side]++
		}
	}
	add(before, 0)
	add(after, 1)
	if count[0] < minRuns || count[1] < minRuns {
		return nil
	}
	lo, hi := math.Inf(1), 0.0
	for _, s := range in {
		for _, v := range s.RPM {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	shape, err := inertia.FitShape(in, lo, hi, degree(in, counts))
	if err != nil {
		return nil
	}
	r.shape = shape
	group := make([]int, len(r.runs))
	for i, f := range shape.Runs {
		r.y, r.s2 = append(r.y, math.Log(f.B)), append(r.s2, f.VarLnB)
		if r.after[i] {
			group[i] = 1
		}
	}
	if r.warmth = warmthOf(r.runs, r.after); r.warmth != nil {
		for i, d := range r.warmth.shift {
			r.y[i] -= d
		}
	}
	g, ok := stats.RobustGroups(r.y, r.s2, group, 2)
	if !ok {
		return nil
	}
	r.groups = g
	r.ln, r.df = g.Mean[0]-g.Mean[1], g.DF
	r.shapeVar = r.shapeTerm()
	r.variance = g.Variance(0) + g.Variance(1) + r.shapeVar
	return r
}

// degree is that for so many samples a run, and at least 3 where the sides were revved to different speeds: the shape then
// has to bridge them, and a parabola in time bends the answer.
func degree(in []inertia.ShapeRun, counts []float64) int {
	var tops [2][]float64
	total := 0.0
	for i, s := range in {
		tops[s.Group] = append(tops[s.Group], s.RPM[0])
		total += counts[i]
	}
	b, a := stats.Median(tops[0]), stats.Median(tops[1])
	if math.Max(a, b) > 1.15*math.Min(a, b) && total > float64(3*len(in)) {
		return 3
	}
	return inertia.DegreeFor(counts)
}

// shapeTerm is what the uncertainty of the shared shape adds when the sides cover different engine speeds: dL' Cov(Q) dL.
func (r *ratio) shapeTerm() float64 {
	cov := r.shape.CovQ
	if cov == nil {
		return 0
	}
	d := mat.NewVecDense(cov.SymmetricDim(), nil)
	sum := [2]float64{}
	for i, w := range r.groups.Value {
		sum[side(r.after[i])] += w
	}
	for i, f := range r.shape.Runs {
		k := side(r.after[i])
		w := r.groups.Value[i] / sum[k]
		if k == 1 {
			w = -w
		}
		for j, l := range f.L {
			d.SetVec(j, d.AtVec(j)+w*l)
		}
	}
	return mat.Inner(d, cov, d)
}

func side(after bool) int {
	if after {
		return 1
	}
	return 0
}

// bestRatio fits the kind of free rev that both sides have, in the widest window in which the answer does not depend on
// the window, with the shortest cut at which it does not depend on the cut.
func bestRatio(before, after *inertia.Finding) *ratio {
	var best *ratio
	for _, kind := range []inertia.Kind{inertia.RevDown, inertia.RollingRevDown} {
		b, a := before.FreeRevs(kind), after.FreeRevs(kind)
		r := settleWindow(b, a, kind)
		if r != nil && (best == nil || r.variance < best.variance) {
			best = r
		}
	}
	return best
}

// settleWindow takes every run from its own top, which is the most the data allow; the shared shape bridges sides that
// were revved to different speeds. Where they were, the window that both reach is tried too: if the two answers differ
// by more than chance allows, the shape does not bridge well enough, and the common window stands.
func settleWindow(before, after []*inertia.Run, kind inertia.Kind) *ratio {
	low := math.Max(lowest(before), lowest(after))
	wide := settleTrim(before, after, kind, low, math.Inf(1))
	high := math.Min(reach(before), reach(after))
	if wide == nil || math.Max(reach(before), reach(after)) < 1.1*high {
		return wide
	}
	common := settleTrim(before, after, kind, low, high)
	if common == nil {
		return wide
	}
	if disagree(common, wide) {
		common.matched = true
		return common
	}
	return wide
}

// settleTrim fits with the first cut, and with a longer one as long as that moves the answer.
func settleTrim(before, after []*inertia.Run, kind inertia.Kind, low, high float64) *ratio {
	r := fitRatio(before, after, kind, low, high, topTrims[0])
	if r == nil {
		return nil
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
		// What the cut moves the answer by without being proved is an uncertainty: the start of the falls is not quite clean.
		if d, t, ok := paired(longer, r); ok {
			open = math.Max(open, d*d-2*stats.Square(d/t.T))
		}
	}
	r.trimVar = open
	r.variance += open
	return r
}

// paired compares the answer from a part of each fall with that from more of it. What the runs themselves scatter by is in
// both, so the standard error is that of the runs' own differences, with what the shape that bridges different engine speeds
// is less sure of in the part. ok is false with fewer than two runs a side in both.
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

// disagree tells whether the answers differ by more than chance allows, and by so much that what the part is freed of outweighs
// what it loses in precision. The test is strict, because a needless switch costs precision.
func disagree(part, all *ratio) bool {
	d, t, ok := paired(part, all)
	return ok && t.P < 0.001 && d*d-stats.Square(d/t.T) > part.variance-all.variance
}

// reach is the engine speed from which half of the runs can be used.
func reach(runs []*inertia.Run) float64 {
	var tops []float64
	for _, r := range runs {
		tops = append(tops, r.RPM[0])
	}
	return stats.Median(tops)
}

// lowest is the engine speed down to which half of the runs can be used.
func lowest(runs []*inertia.Run) float64 {
	var bottoms []float64
	for _, r := range runs {
		bottoms = append(bottoms, r.Bottom())
	}
	return stats.Median(bottoms)
}
