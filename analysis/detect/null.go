package detect

import (
	"math"
	"slices"
	"sync"

	"flywitness/analysis/motion"
	"flywitness/internal/order"
	"flywitness/internal/parts"
)

// The detector's own statistic, taken where no clutch can slip, tells how far it wanders in this log whatever
// made it: a delay that is not constant, a filter, a wheel on another path, ratios that are not the car's.
// There are two such places: driving at light load, and the negative side, since no slip of a pulling clutch
// makes the engine slower than the road.
const (
	nullQuantile = 0.98 // of the windows at light load
	nullMost     = 3.0  // standard deviations that this quantile has in a log that behaves
	// the same of the largest value of a run; the second largest run counts, since one may carry a wrong label
	nullRun   = 4.5
	nullLeast = 20 // windows at light load, below which their quantile tells nothing
	// of road speed: an excess beyond is a foot on the clutch or another gear, and no error of a signal
	nullFar  = 0.15
	nullStep = 0.25 // of a window, by which it moves on
)

// learnNull learns what a record shows where no clutch slips.
func (r *Record) learnNull() {
	r.light = r.Track.Control()
	count := counted(r.light)
	r.Path = pathOf(r.controls(count), r.Period)
	r.Spread, r.PullSpread, r.creeps = r.nullSpreads(count)
}

// nullSpreads returns by how much every standard deviation of a record is too small, at least 1, by how much those of
// pulls, and how far creep would have to lie from what was learnt to make the first: see creepFor. count[i] is how
// many samples before i are at light load.
func (r *Record) nullSpreads(count []int32) (spread, ofPulls, creeps float64) {
	runs, calm := make([]nulls, len(r.Runs)), make([]nulls, len(r.Runs))
	parts.Every(len(r.Runs), func(q int) { r.nullsOf(&r.Runs[q], count, &runs[q], &calm[q]) })
	var wait sync.WaitGroup
	wait.Go(func() { ofPulls = nullSpreadOf(calm, worstOf(calm)) })
	spread = nullSpreadOf(runs, -1)
	wait.Wait()
	return spread, ofPulls, r.creepFor(spread, runs)
}

// nullSpreadOf is the spread that runs show, with one of them left out of the quantile.
func nullSpreadOf(runs []nulls, but int) float64 {
	near := 0
	var far, lightest, negative []float64
	for i, n := range runs {
		if i != but {
			near, far = near+n.near, append(far, n.far...)
		}
		lightest, negative = append(lightest, n.top), append(negative, n.low)
	}
	s := math.Max(second(lightest), second(negative)) / nullRun
	all := near + len(far)
	if at := int(nullQuantile * float64(all-1)); all >= nullLeast && at >= near {
		s = math.Max(s, order.Kth(far, at-near)/nullMost)
	}
	return math.Max(1, s)
}

// creepFor returns how far the tyres' creep would have to lie from what was learnt (per wheel force over weight) to
// make a spread. Where no load is known the slope hides the force that creep is learnt by, and on a loose road it may
// lie as far: what the little force of light driving does grows then with the force of a pull. 0 where load is known,
// or speed is that of the wheels which push.
func (r *Record) creepFor(spread float64, runs []nulls) float64 {
	pushed, windows := 0.0, 0
	for _, n := range runs {
		pushed, windows = pushed+n.pushed, windows+n.windows()
	}
	if spread <= 1 || pushed == 0 || !r.creepHides() {
		return 0
	}
	return math.Sqrt((spread*spread - 1) / (pushed / float64(windows)))
}

// creepHides tells whether creep may lie elsewhere than it was learnt.
func (r *Record) creepHides() bool { return r.Track.Model.MayCreep && !r.Track.Model.Load.Known() }

// worstOf is the run that shows the most at light load, -1 where it is most of what the log shows there.
func worstOf(runs []nulls) int {
	worst, all := -1, 0
	for i, n := range runs {
		all += n.windows()
		if worst < 0 || n.top > runs[worst].top {
			worst = i
		}
	}
	if worst < 0 || 2*runs[worst].windows() >= all {
		return -1
	}
	return worst
}

// counted returns how many samples before each are marked.
func counted(marked []bool) []int32 {
	count := make([]int32, len(marked)+1)
	for i, ok := range marked {
		count[i+1] = count[i]
		if ok {
			count[i+1]++
		}
	}
	return count
}

// nulls is what the windows of one run show where no clutch can slip, in standard deviations: at light load how many
// stand no further off than in a log that behaves, those that do, and the furthest; of the others the furthest on the
// negative side.
type nulls struct {
	near     int
	far      []float64
	top, low float64
	pushed   float64 // sum over the windows at light load of the square of what creep of 1 makes
}

func (n *nulls) windows() int { return n.near + len(n.far) }

// add takes a window that stands z standard deviations off its gear.
func (n *nulls) add(z float64, light bool) {
	off := math.Abs(z)
	switch {
	case !light:
		n.low = max(n.low, -z)
	case off <= nullMost:
		n.near++
	default:
		n.far, n.top = append(n.far, off), max(n.top, off)
	}
}

// nullsOf looks at the windows of a run, as all departures and as steady pulls are measured. What tells nothing by
// the steps of road speed alone is not measured.
func (r *Record) nullsOf(run *motion.Run, count []int32, all, calm *nulls) {
	lengths, _ := windows(r.Period)
	creeps := r.creepHides()
	r.nullWindows(run, lengths, func(lo, hi int) {
		light := int(count[hi]-count[lo]) == hi-lo
		switch mean := r.MeanE(lo, hi); {
		case light && !creeps && r.within(mean, lo, hi, nullMost):
			all.near++
			calm.near++
			return
		case !light && (mean >= 0 || r.within(mean, lo, hi, min(all.low, calm.low))):
			return
		}
		w := r.test(lo, hi, run.Index)
		if w.mean > nullFar*w.v {
			return
		}
		all.add(w.mean/w.sd, light)
		calm.add(w.mean/r.withCorner(w.sd, lo, hi), light)
		if light {
			made := w.creep / w.sd
			all.pushed += made * made
		}
	})
}

// within tells whether the mean of a window surely stands no more than so many standard deviations off its gear, and
// not far: the steps of road speed alone leave more, of which the window has as many as values, or as the car crossed.
func (r *Record) within(mean float64, lo, hi int, deviations float64) bool {
	step := max(r.Track.Model.Step, finestStep)
	const rounding = 1e-9
	most := stepVariance * (deviations * step) * (deviations * step) * (1 - rounding)
	if mean*mean*float64(hi-lo) < most {
		return true
	}
	moved := math.Abs(r.State(hi-1).V - r.State(lo).V)
	return mean*mean*min(r.values(lo, hi), 1+2*moved/step) < most && mean <= nullFar*r.MeanV(lo, hi)
}

const (
	nullAfter  = 0.4 // s more from the start of a gear than a departure needs: what is left of the engagement
	nullBefore = 0.2 // s more before its end
)

// nullWindows visits the windows of some lengths (s) of a run away from its ends.
func (r *Record) nullWindows(run *motion.Run, lengths []float64, do func(lo, hi int)) {
	t := r.Track.T
	_, least := windows(r.Period)
	first, last := run.Lo, run.Hi
	for first < last && t[first]-t[run.Lo] < afterChange+r.Period+nullAfter {
		first++
	}
	for last > first && t[run.Hi-1]-t[last-1] < afterChange+r.Period+nullBefore {
		last--
	}
	for _, d := range lengths {
		start := first
		for end := first + 1; end <= last; end++ {
			for t[end-1]-t[start] > d {
				start++
			}
			if end-start < least || t[end-1]-t[start] < fullWindow*d {
				continue
			}
			do(start, end)
			for next := t[end-1] + nullStep*d; end < last && t[end] < next; {
				end++
			}
		}
	}
}

// second is the second largest of x, 0 of fewer than two.
func second(x []float64) float64 {
	if len(x) < 2 {
		return 0
	}
	slices.Sort(x)
	return x[len(x)-2]
}
