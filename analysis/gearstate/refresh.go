package gearstate

import (
	"math"
	"slices"
)

// A control unit may work out road speed twice a second and answer twenty times with it: between two refreshes
// the value is old. Taken at its word, the car goes in jerks. Only the first reply after a refresh tells when
// the value was true.

const (
	refreshHeld  = 3    // equal replies and more before a leap: the value was held
	refreshLeast = 10   // such leaps that must be seen,
	refreshShare = 0.05 // and their share of all changes
	refreshFrom  = 5.0  // km/h; below, cars display nothing, or leap
	refreshSlack = 1.05 // of a refresh: its own jitter
	// share of the changes that late time stamps bring sooner than half a refresh after the one before: more, and
	// nothing was held. A steady car on a slow link stands still for many replies as well, and leaps when it brakes
	refreshEarly = 0.1
)

// refresh returns how often (s) a speed that moves in steps is really refreshed, 0 where every sample is fresh:
// it leaps over steps after standing still, again and again, and never moves within the shortest of these waits, which
// is the refresh.
func refresh(t, v []float64, step float64) float64 {
	leap := leapSteps * step
	var waits []float64
	changes := changesOf(v, func(last, i int) {
		if math.Abs(v[i]-v[i-1]) > leap && i-last >= refreshHeld {
			waits = append(waits, t[i]-t[last])
		}
	})
	if len(waits) < refreshLeast || float64(len(waits)) < refreshShare*float64(changes) {
		return 0
	}
	slices.Sort(waits)
	every := waits[len(waits)/5]
	apart := make([]float64, 0, changes)
	changesOf(v, func(last, i int) { apart = append(apart, t[i]-t[last]) })
	slices.Sort(apart)
	if apart[int(refreshEarly*float64(changes))] < every/2 {
		return 0
	}
	return every
}

// changesOf visits the changes of a speed that is displayed, with the value of the change before, and returns how many
// there are.
func changesOf(v []float64, visit func(last, i int)) (changes int) {
	last := 0
	for i := 1; i < len(v); i++ {
		if v[i] == v[i-1] {
			continue
		}
		if v[i] >= refreshFrom && v[i-1] >= refreshFrom {
			changes++
			visit(last, i)
		}
		last = i
	}
	return changes
}

// fresh leaves out the replies that repeat a value before it was refreshed (every so many s).
func fresh(t, v []float64, every float64) ([]float64, []float64) {
	if every <= 0 || len(t) == 0 {
		return t, v
	}
	last := 0
	return kept(t, v, func(i int) bool {
		ok := i == 0 || !stale(t[i], v[i], t[last], v[last], every)
		if ok {
			last = i
		}
		return ok
	})
}

// stale tells whether a reply repeats the last one taken before it can have been refreshed.
func stale(t, v, lastT, lastV, every float64) bool { return v == lastV && t-lastT < refreshSlack*every }
