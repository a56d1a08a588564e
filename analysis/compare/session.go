package compare

import (
	"math"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
)

// Spread of the closed-throttle drag between sessions, relative: gearbox oil, a battery recharging, a fan,
// lights. Common practice, no source; no car with a known change has been measured yet.
const (
	sessionSD          = 0.04
	sessionSDChecklist = 0.02
	// A diesel's oil shears more and its accessories are larger: two of its sittings differ by 7.5 %, with the
	// checklist by 3.9 % (handbook knowledge from memory), which is this a sitting.
	dieselSessionSD          = 0.053
	dieselSessionSDChecklist = 0.028
)

// SessionSpread returns that spread, with the checklist kept or not, of a diesel or of an engine of another or an
// unknown fuel.
func SessionSpread(checklist, diesel bool) float64 {
	switch {
	case diesel && checklist:
		return dieselSessionSDChecklist
	case diesel:
		return dieselSessionSD
	case checklist:
		return sessionSDChecklist
	}
	return sessionSD
}

// sessionSD is that spread of the car that is compared. Its vehicle file tells a diesel.
func (c *comparison) sessionSD() float64 {
	return SessionSpread(c.opt.Checklist, c.before.diesel() || c.after.diesel())
}

// answer is the logarithm of the ratio with everything that is known to disturb it.
type answer struct {
	ln, variance, df float64
}

func (a *answer) sd() float64 { return math.Sqrt(a.variance) }

// widen adds a variance that is told and not found out by few sittings: it counts by the normal quantile, whatever the
// degrees of freedom of the rest.
func (a *answer) widen(variance float64) {
	t := stats.TQuantile(0.975, a.df) / stats.TQuantile(0.975, math.Inf(1))
	a.variance += variance / (t * t)
}

// estimate is the ratio itself with its t interval, and the p value of no change.
func (a *answer) estimate() (*stats.Estimate, float64) {
	h := stats.TQuantile(0.975, a.df) * a.sd()
	v := math.Exp(a.ln)
	return &stats.Estimate{Value: v, SD: v * a.sd(), CI95: [2]float64{math.Exp(a.ln - h), math.Exp(a.ln + h)}},
		stats.TwoSided(a.ln/a.sd(), a.df)
}

// sessionMeans returns the robust mean of ln B of each session of a side with the variance that its runs give it.
func (r *ratio) sessionMeans() (mean, variance [2][]float64) {
	_, mean, variance = r.sessions()
	return mean, variance
}

// sessions does that and names the sessions.
func (r *ratio) sessions() (session [2][]int, mean, variance [2][]float64) {
	type key struct{ side, session int }
	index := map[key]int{}
	var keys []key
	group := make([]int, len(r.runs))
	for i, run := range r.runs {
		k := key{side(r.after[i]), run.Session}
		if _, ok := index[k]; !ok {
			index[k] = len(keys)
			keys = append(keys, k)
		}
		group[i] = index[k]
	}
	g, ok := stats.RobustGroups(r.y, r.s2, group, len(keys))
	if !ok {
		return session, mean, variance
	}
	for i, k := range keys {
		session[k.side] = append(session[k.side], k.session)
		mean[k.side] = append(mean[k.side], g.Mean[i])
		variance[k.side] = append(variance[k.side], g.Variance(i))
	}
	return session, mean, variance
}

// withSessions adds what differs from one sitting to the next. Sessions measure their own spread where a side
// has several; two a side do so with two degrees of freedom, which alone would tell less than one session and
// the usual spread u do, so that is weighed in.
func (r *ratio) withSessions(u float64, drift [2][]inertia.Drift) *answer {
	mean, variance := r.sessionMeans()
	several := len(mean[0]) > 1 || len(mean[1]) > 1
	other := r.shapeVar + r.trimVar + r.warmth.variance()
	inverse := 0.0
	for k := range mean {
		if m := len(mean[k]); m > 0 {
			inverse += 1 / float64(m)
		}
	}
	if several {
		between, df := sessionSpread(mean, variance, u)
		return &answer{
			ln: stats.Summarise(mean[0]).Mean - stats.Summarise(mean[1]).Mean, variance: between + other,
			df: stats.Satterthwaite([]float64{between, other}, []float64{df, math.Inf(1)}),
		}
	}
	between := u * u * inverse
	for k := range drift {
		for _, d := range drift[k] {
			if d.Confirmed {
				e := math.Log1p(d.Total / 100)
				between += e * e / 12 / float64(len(drift[k]))
			}
		}
	}
	own := r.variance - r.shapeVar - r.trimVar
	return &answer{
		ln: r.ln, variance: own + between + other,
		df: stats.Satterthwaite([]float64{own, between + other}, []float64{r.df, math.Inf(1)}),
	}
}

// priorSessions is how many degrees of freedom the usual spread between sessions is worth beside the one that
// was seen.
const priorSessions = 2

// sessionSpread is the variance of the difference of both sides' means over sessions, with its degrees of
// freedom: what the session means scatter by, and the usual spread u, weighed by their degrees of freedom. It is
// never less than the scatter of the runs gives.
func sessionSpread(mean, variance [2][]float64, u float64) (between, df float64) {
	var ss, within, inverse, runs, n float64
	for k := range mean {
		m := float64(len(mean[k]))
		if m == 0 {
			continue
		}
		centre := stats.Summarise(mean[k]).Mean
		for i, v := range mean[k] {
			ss += (v - centre) * (v - centre)
			within += variance[k][i] / (m * m)
			runs += variance[k][i]
			n++
		}
		df += m - 1
		inverse += 1 / m
	}
	one := (priorSessions*(u*u+runs/n) + ss) / (priorSessions + df)
	return math.Max(one*inverse, within), priorSessions + df
}
