package inertia

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// A logger or a control unit that smooths engine speed over as long as a free rev lasts bends every rate in it,
// and no later sample shows what it took away. It shows where engine speed turns from rising to falling: that
// takes longer than a foot and a throttle do. A throttle that shuts slowly looks the same, and does the same.
const (
	quickTurn  = 0.4  // s that the turn takes without any smoothing, a slow throttle and a slow link included
	turnValues = 5    // samples about a turn
	slowTurn   = 0.75 // s from which the rates are not believed
	perTurn    = 0.5  // relative error of the inertia for each second beyond the quick turn, by smoothing known falls

	// Who holds an engine at a speed before he lets go, as he is asked to, lets it neither rise nor fall: below this
	// share of the rate of its fall
	level = 0.25
	// for most of the turn. A filter that turns a rise of thrice the rate into the fall is there for a third of it
	heldShare = 0.5
	// of the time that a filter takes for the middle half of a step from rest to the fall, that it takes for a turn
	turnOfStep = 1.5
)

// smoothed tells how much an inertia may be bent by smoothing, as a relative standard deviation, and why it is
// not given at all, nil when it is.
func smoothed(scenes []*preparedLog, revs []*Run) (sd float64, why *finding.Finding) {
	all := turns(scenes, revs)
	if len(all) < fewestRevs {
		return 0, nil
	}
	t := stats.Median(all)
	if t > slowTurn {
		return 0, because(finding.NotSmoothed, finding.Duration("turn", t))
	}
	return perTurn * math.Max(0, t-quickTurn), nil
}

// turns are how long engine speed takes after each free rev from half of its steepest rise to half of its usual
// fall, s. The foot lifts within a tenth of a second and the air is gone in two or three more.
func turns(scenes []*preparedLog, revs []*Run) []float64 {
	var out []float64
	for _, r := range revs {
		if t, ok := scenes[r.Input].turnOf(r); ok {
			out = append(out, t)
		}
	}
	return out
}

// turnOf is that of one free rev; ok is false where it does not show.
func (s *preparedLog) turnOf(r *Run) (seconds float64, ok bool) {
	at := &series{t: s.t, v: s.n}
	i, j := at.between(r.Start-2.5, r.T[len(r.T)-1])
	if j-i < turnValues || !(r.MeanRate > 0) {
		return 0, false
	}
	return turn(s.t[i:j], s.n[i:j], r.MeanRate)
}

// markTurns fills how long engine speed takes to turn before each free rev that is used.
func (m *measurement) markTurns() {
	for i := range m.finding.Runs {
		r := &m.finding.Runs[i]
		if r.Used && (r.Kind == RevDown || r.Kind == RollingRevDown) {
			r.Turn, _ = m.scenes[r.Input].turnOf(r)
		}
	}
}

// turn finds it in samples from before the peak to the end of a fall of a mean rate in rpm/s.
func turn(t, n []float64, fall float64) (float64, bool) {
	top := 0
	for i := range n {
		if n[i] > n[top] {
			top = i
		}
	}
	rate := func(i int) float64 { return (n[i+1] - n[i]) / (t[i+1] - t[i]) }
	middle := func(i int) float64 { return (t[i] + t[i+1]) / 2 }
	steepest := 0.0
	for i := 0; i < top; i++ {
		steepest = math.Max(steepest, rate(i))
	}
	if steepest <= 0 {
		return 0, false
	}
	cross := func(from, step int, level float64) (float64, bool) { // where the rate passes a level, linear between
		for i := from; i >= 0 && i+1 < len(n); i += step {
			k := i - step
			if k < 0 || k+1 >= len(n) {
				continue
			}
			a, b := rate(k), rate(i)
			if (a-level)*(b-level) <= 0 && a != b {
				return middle(k) + (middle(i)-middle(k))*(level-a)/(b-a), true
			}
		}
		return 0, false
	}
	rise, okRise := cross(min(top, len(n)-2), -1, steepest/2)
	down, okFall := cross(max(top-1, 0), 1, -fall/2)
	took := down - rise
	if !okRise || !okFall || took <= 0 {
		return took, false
	}
	held, last := 0.0, 0 // s, and the last of it
	for i := 0; i+1 < len(n) && t[i+1] <= down; i++ {
		if t[i] >= rise && math.Abs(rate(i)) < level*fall {
			held, last = held+t[i+1]-t[i], i
		}
	}
	if held > heldShare*took {
		begin, okBegin := cross(last+1, 1, -level*fall)
		end, okEnd := cross(last+1, 1, (level-1)*fall)
		return turnOfStep * (end - begin), okBegin && okEnd && end > begin
	}
	return took, true
}
