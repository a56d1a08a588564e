package inertia

import (
	"math"
	"slices"

	"flywitness/analysis/stats"
)

// drifts fits a straight line through the drag (-ln B) of each session's free revs in the order they were driven.
func drifts(runs []Run) []Drift {
	out := []Drift{}
	var used []*Run
	for i := range runs {
		if r := &runs[i]; r.Used && r.Kind == RevDown {
			used = append(used, r)
		}
	}
	shape, err := ShapeOf(used)
	if err != nil {
		return out
	}
	values := map[int][]float64{}
	var order []int
	for i, r := range used {
		if _, ok := values[r.Session]; !ok {
			order = append(order, r.Session)
		}
		values[r.Session] = append(values[r.Session], -math.Log(shape.Runs[i].B))
	}
	slices.Sort(order)
	for _, s := range order {
		if d, ok := lineTest(values[s]); ok {
			d.Session = s
			out = append(out, d)
		}
	}
	return out
}

const (
	driftRuns = 4    // that show a drift: a line through three has one degree of freedom
	driftP    = 0.05 // the chance below which it is said
)

// lineTest is the t test of the slope of least squares over equal steps; it needs four values.
func lineTest(y []float64) (Drift, bool) {
	n := len(y)
	if n < driftRuns {
		return Drift{}, false
	}
	mean := stats.Summarise(y).Mean
	xm := float64(n-1) / 2
	sxx, sxy, sse := 0.0, 0.0, 0.0
	for i, v := range y {
		x := float64(i) - xm
		sxx += x * x
		sxy += x * (v - mean)
	}
	slope := sxy / sxx
	for i, v := range y {
		e := v - mean - slope*(float64(i)-xm)
		sse += e * e
	}
	d := Drift{Runs: n, Total: 100 * math.Expm1(slope*float64(n-1))}
	if df := float64(n - 2); sse > 0 {
		p := stats.TwoSided(slope/math.Sqrt(sse/df/sxx), df)
		d.P, d.Confirmed = &p, p < driftP
	}
	return d, true
}
