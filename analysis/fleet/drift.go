package fleet

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/job"

	"gonum.org/v1/gonum/stat/distuv"
)

// Drift is a straight line through the inertia over the jobs since the last work. The parts were the same, so the
// line should be level.
type Drift struct {
	Jobs      int             `json:"jobs"`
	PerYear   *stats.Estimate `json:"per_year_kgm2"`
	Change    float64         `json:"change_pct"` // of the line, first to last
	P         float64         `json:"p_value"`    // of a level line
	Confirmed bool            `json:"confirmed"`
}

// A fleet asks the same question of every vehicle, so the usual 5 % would cry wolf at one healthy vehicle in twenty:
// one in a thousand is allowed. A change below that of the equivalence margin of a comparison is nobody's concern.
const (
	alarmLevel  = 0.001
	smallChange = job.DefaultMarginPct // %
	fewestJobs  = 3                    // two differ by chance of one bad session
)

// drift fits the line by weighted least squares with the known standard deviations of the values; where they scatter
// more than those say, the error of the slope grows with the scatter (Press et al., Numerical Recipes, fitting data
// to a straight line; from memory).
func drift(list []Entry) *Drift {
	var t, y, w []float64
	for _, e := range list {
		if i := e.Inertia; i != nil && i.SD > 0 && i.Value > 0 {
			t = append(t, e.Time.Sub(list[0].Time).Hours()/24/365.25)
			y, w = append(y, i.Value), append(w, 1/(i.SD*i.SD))
		}
	}
	if len(t) < fewestJobs {
		return nil
	}
	var sw, st, sy float64
	for i := range t {
		sw, st, sy = sw+w[i], st+w[i]*t[i], sy+w[i]*y[i]
	}
	mt, my := st/sw, sy/sw
	var stt, sty float64
	for i := range t {
		stt += w[i] * (t[i] - mt) * (t[i] - mt)
		sty += w[i] * (t[i] - mt) * (y[i] - my)
	}
	if !(stt > 0) {
		return nil // all at one time
	}
	slope, chi := sty/stt, 0.0
	for i := range t {
		r := y[i] - my - slope*(t[i]-mt)
		chi += w[i] * r * r
	}
	sd := math.Sqrt(1/stt) * math.Sqrt(math.Max(1, chi/float64(len(t)-2)))
	d := &Drift{Jobs: len(t), PerYear: stats.Normal(slope, sd), Change: 100 * slope * (t[len(t)-1] - t[0]) / my}
	d.P = math.Erfc(math.Abs(slope) / sd / math.Sqrt2) // two-sided, of a normal distribution
	if !finite(d.PerYear) || math.IsNaN(d.Change+d.P) || math.IsInf(d.Change, 0) {
		return nil
	}
	d.Confirmed = d.P < alarmLevel && math.Abs(d.Change) > smallChange
	return d
}

// lost finds the torque that the clutch held earlier with the same parts and at which it slips now: the earlier
// entry, nil when that is not shown. A lower torque held is no loss: it is what was driven.
func lost(list []Entry) *Entry {
	last := list[len(list)-1]
	if last.Slip != "slips" || last.Onset == nil {
		return nil
	}
	var best *Entry
	for i, e := range list[:len(list)-1] {
		if e.Held == nil || e.Slip != "holds" {
			continue
		}
		z := (e.Held.Value - last.Onset.Value) / math.Hypot(e.Held.SD, last.Onset.SD)
		if distuv.UnitNormal.Survival(z) < alarmLevel && (best == nil || e.Held.Value > best.Held.Value) {
			best = &list[i]
		}
	}
	return best
}
