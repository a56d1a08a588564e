package detect

import (
	"math"
	"slices"
	"sync"

	"flywitness/analysis/motion"
	"flywitness/internal/order"
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
	r.Path = pathOf(r.controls(), r.Period)
	r.Spread, r.creeps = r.nullSpread()
}

// nullSpread returns by how much every standard deviation of a record is too small, at least 1; and how far the tyres'
// creep would have to lie from what was learnt (per wheel force over weight) to make that. Where no load is known the
// slope hides the force that creep is learnt by, and on a loose road it may lie as far: what the little force of light
// driving does grows then with the force of a pull. 0 where load is known, or speed is that of the wheels which push.
func (r *Record) nullSpread() (spread, creeps float64) {
	count := counted(r.light)
	runs := make([]nulls, len(r.Runs))
	var wait sync.WaitGroup
	for q := range r.Runs {
		wait.Go(func() { runs[q] = r.nullsOf(&r.Runs[q], count) })
	}
	wait.Wait()
	var all, lightest, negative []float64
	pushed := 0.0
	for _, n := range runs {
		all = append(all, n.light...)
		pushed += n.pushed
		lightest, negative = append(lightest, n.top), append(negative, n.low)
	}
	s := math.Max(second(lightest), second(negative)) / nullRun
	if len(all) >= nullLeast {
		s = math.Max(s, order.Kth(all, int(nullQuantile*float64(len(all)-1)))/nullMost)
	}
	if s <= 1 {
		return 1, 0
	}
	if r.Track.Model.MayCreep && !r.Track.Model.Load.Known() && pushed > 0 {
		creeps = math.Sqrt((s*s - 1) / (pushed / float64(len(all))))
	}
	return s, creeps
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

// nulls is what the windows of one run show where no clutch can slip, in standard deviations: those at light load,
// the largest of them, and the largest on the negative side of the others.
type nulls struct {
	light    []float64
	top, low float64
	pushed   float64 // sum over the windows at light load of the square of what creep of 1 makes
}

// nullsOf looks at the windows of a run; count[i] is how many samples before i are at light load.
func (r *Record) nullsOf(run *motion.Run, count []int32) (n nulls) {
	lengths, _ := windows(r.Period)
	r.nullWindows(run, lengths, func(lo, hi int) {
		w := r.test(lo, hi, run.Index)
		if w.mean > nullFar*w.v {
			return
		}
		z := w.mean / w.sd
		if int(count[hi]-count[lo]) == hi-lo {
			n.light = append(n.light, math.Abs(z))
			n.top = max(n.top, math.Abs(z))
			made := r.MeanCreep(lo, hi) / w.sd
			n.pushed += made * made
		} else {
			n.low = max(n.low, -z)
		}
	})
	return n
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
		start, next := first, math.Inf(-1)
		for end := first + 1; end <= last; end++ {
			for t[end-1]-t[start] > d {
				start++
			}
			if end-start < least || t[end-1]-t[start] < fullWindow*d || t[end-1] < next {
				continue
			}
			next = t[end-1] + nullStep*d
			do(start, end)
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
