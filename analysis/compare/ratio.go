package compare

import (
	"math"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"

	"gonum.org/v1/gonum/mat"
)

const (
	minRuns   = 3   // free revs that a side must have before a ratio is given
	tellsLess = 1.0 // sd of ln: a ratio that is known to a factor of e is none
)

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
	asDriven  bool    // the temperature is left alone, because something else takes the drag out
	late      bool    // the runs show what the release left behind, and it was fitted with them
	moved     bool    // the trim had to be made longer
	matched   bool    // both sides were cut to one window
}

// fitRatio fits the shared shape to the runs of one kind of both sides and compares their robust means; nil when there
// are too few.
func fitRatio(before, after []*inertia.Run, kind inertia.Kind, low, high, trim float64) *ratio {
	r := &ratio{kind: kind, low: low, high: high, trim: trim}
	in := r.gather(before, after)
	if in == nil {
		return nil
	}
	shape, err := fitShape(in)
	if err != nil || !r.compare(shape) {
		return nil
	}
	return r
}

const (
	fewestOfFall = 3    // values of a fall
	fallSpan     = 1.25 // first over last engine speed of a fall that shows a shape
	bentBy       = 1.15 // factor between the rates of both halves from which the shape is a parabola
	bendValues   = 3    // values of a run, in the mean, that can show one
	reachesBy    = 1.1  // factor by which falls must reach above the usual window before it is widened
)

// gather cuts the runs of both sides; nil when a side has too few.
func (r *ratio) gather(before, after []*inertia.Run) []inertia.ShapeRun {
	var in []inertia.ShapeRun
	for k, runs := range [2][]*inertia.Run{before, after} {
		count := 0
		for _, run := range runs {
			t, n := run.Trimmed(r.low, r.high, r.trim)
			if len(t) < fewestOfFall || n[0] < fallSpan*n[len(n)-1] {
				continue
			}
			in = append(in, inertia.ShapeRun{T: t, RPM: n, Group: k})
			r.runs, r.after = append(r.runs, run), append(r.after, k == 1)
			count++
		}
		if count < minRuns {
			return nil
		}
	}
	return in
}

// fitShape fits the common shape over all engine speeds of the runs.
func fitShape(in []inertia.ShapeRun) (*inertia.Shape, error) {
	lo, hi := math.Inf(1), 0.0
	for _, s := range in {
		for _, v := range s.RPM {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	return inertia.FitShape(in, lo, hi, degree(in))
}

// compare takes the ratio from the runs of a shape; it tells whether it could.
func (r *ratio) compare(shape *inertia.Shape) bool {
	r.shape, r.y, r.s2 = shape, nil, nil
	group := make([]int, len(r.runs))
	for i, f := range shape.Runs {
		r.y, r.s2 = append(r.y, math.Log(f.B)), append(r.s2, f.VarLnB)
		group[i] = side(r.after[i])
	}
	if !r.asDriven {
		r.warmth = warmthOf(r.runs, r.after)
	}
	if r.warmth != nil {
		for i, d := range r.warmth.shift {
			r.y[i] -= d
		}
	}
	g, ok := stats.RobustGroups(r.y, r.s2, group, 2)
	if !ok {
		return false
	}
	r.groups = g
	r.ln, r.df = g.Mean[0]-g.Mean[1], g.DF
	r.shapeVar = r.shapeTerm()
	r.variance = g.Variance(0) + g.Variance(1) + r.shapeVar
	return r.variance < tellsLess*tellsLess
}

// degree is that for so many samples a run, and at least 3 where the sides were revved to different speeds: the
// shape then has to bridge them, and a parabola in time bends the answer.
func degree(in []inertia.ShapeRun) int {
	var tops [2][]float64
	var counts []float64
	total := 0
	for _, s := range in {
		tops[s.Group] = append(tops[s.Group], s.RPM[0])
		counts = append(counts, float64(len(s.T)))
		total += len(s.T)
	}
	b, a := stats.Median(tops[0]), stats.Median(tops[1])
	if math.Max(a, b) > bentBy*math.Min(a, b) && total > bendValues*len(in) {
		return 3
	}
	return inertia.DegreeFor(counts)
}

// shapeTerm is what the uncertainty of the shared shape adds when the sides cover different engine speeds: dL'
// Cov(Q) dL.
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

// bestRatio fits the kind of free rev that both sides have, in the widest window in which the answer does not
// depend on the window, with the shortest cut at which it does not depend on the cut.
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
	if wide == nil || math.Max(reach(before), reach(after)) < reachesBy*high {
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
