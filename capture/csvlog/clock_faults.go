package csvlog

import (
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/order"
	"math"
	"slices"
)

// Clocks that are set back, and buffers that are emptied late.

const (
	setBackRows  = 3       // that stand twice in the time that the clock went back over; fewer are rows out of order
	setBackRare  = 50      // rows for each such place, at least: rows of a shuffled table step back all the time
	wholeStamp   = 1.0     // s: of stamps without a fraction
	strayBy      = 86400.0 // s from the rows on either side: no drive pauses so long for one row
	strayRows    = 50      // for each such row, at least
	bunchStep    = 0.2     // of the usual pace: rows that follow each other faster were handed on together
	bunchRows    = 4       // in a bunch; two or three that come close are jitter,
	bunchesOnly  = 0.4     // but where so many of the rows do: stamps of any jitter, were it without end, leave 0.18
	bunchesFew   = 50      // rows that show it,
	bunchAlike   = 0.5     // as often as from one bunch to the next a column changes in a bunch of whole rows: replies in turn change one each
	bunchedShare = 0.1     // of the rows stand in bunches
	pausePaces   = 100     // times the pace is a pause: no buffer holds so many rows back
	bunchGap     = 2.5     // times the pace of its rows is the longest time that a bunch can stand for
	copyRows     = 10      // of a stretch that stands twice, at least
	summaryRows  = 4       // of averages, maxima and the like under a table, at most
	summaryFew   = 50      // rows above them, at least
	summaryBack  = 20.0    // usual steps that they lie back, at least: less are rows that came late
)

// setBack moves the rows behind a place where the clock was set back on to where they belong: the car drives on and the rows keep their pace, but
// the same minute is written twice. Rows that only stand in another order fill a gap that the others leave.
func (r *rowset) setBack(l *drive.Log) {
	back := r.back
	if len(back) == 0 || len(back)*setBackRare > len(r.t) {
		return
	}
	most := r.moves(back)
	step := r.pace()
	times, farthest := 0, 0.0
	for n, i := range back {
		start, end := 0, len(r.t)
		if n > 0 {
			start = back[n-1]
		}
		if n+1 < len(back) {
			end = back[n+1]
		}
		by := r.t[i-1] - r.t[i]
		if !r.twice(start, i, end) || !r.clash(i) || r.equalToEarlier(start, i) || !r.goesOn(i, most) {
			continue
		}
		for k := i; k < len(r.t); k++ {
			r.t[k] += by + step
		}
		times, farthest = times+1, max(farthest, by)
	}
	if times > 0 {
		r.back = r.stepsBack()
		l.Warnings = append(l.Warnings, finding.New(finding.ClockSetBack, finding.Name("file", l.Path), finding.Count("times", times), finding.Duration("by", farthest)))
	}
}

// forwardBy is how far clocks are set forward in spring.
const forwardBy = 3600.0 // s

// setForward moves the rows behind a place where the clock was set forward an hour back to where they belong: the engine runs on, and no value moves further than before. Nobody
// stops for an hour to the tenth of a second.
func setForward(l *drive.Log, sets []*rowset) {
	at := slices.IndexFunc(sets, func(r *rowset) bool {
		return slices.ContainsFunc(r.cols, func(c *column) bool { return drive.IsRoadSpeed(c.channel) })
	})
	if at < 0 || sets[at].unit != 0 {
		return
	}
	from, to, ok := sets[at].leapOn()
	if !ok {
		return
	}
	for _, r := range sets {
		if r.unit != 0 || slices.ContainsFunc(r.t, func(t float64) bool { return t > to-forwardBy/2 && t < to-r.pace() }) {
			return
		}
	}
	for _, r := range sets {
		for i, t := range r.t {
			if t > (from+to)/2 {
				r.t[i] -= forwardBy
			}
		}
		r.back = r.stepsBack()
	}
	l.Warnings = append(l.Warnings, finding.New(finding.ClockSetForward, finding.Name("file", l.Path), finding.Duration("by", forwardBy)))
}

// leapOn returns the times on either side of a leap of an hour over which the engine runs on.
func (r *rowset) leapOn() (from, to float64, ok bool) {
	var near float64
	for i := 1; i < len(r.t); i++ {
		if d := r.t[i] - r.t[i-1]; d < forwardBy || d > forwardBy+wholeStamp+forwardBy/60 {
			continue
		}
		if near == 0 {
			near = wholeStamp + stepsBeside*r.pace()
		}
		runs := false
		for c, v := range r.v {
			runs = runs || r.cols[c].essential() && v[i] > 0 && v[i-1] > 0
		}
		if r.t[i]-r.t[i-1] <= forwardBy+near && runs && r.goesOn(i, r.moves([]int{i})) {
			return r.t[i-1], r.t[i], true
		}
	}
	return 0, 0, false
}

// twice tells whether rows [start, i) and [i, end) both fill the time from that of row i to that of the row before.
func (r *rowset) twice(start, i, end int) bool {
	from, to := r.t[i], r.t[i-1]
	first, second := 0, 0
	for k := i - 1; k >= start && r.t[k] >= from; k-- {
		first++
	}
	for k := i; k < end && r.t[k] <= to; k++ {
		second++
	}
	return first >= setBackRows && second >= setBackRows && first < 2*second && second < 2*first
}

// equalToEarlier tells whether row i stands in [start, i) already, at its time: the table was put together of overlapping pieces.
func (r *rowset) equalToEarlier(start, i int) bool {
	for k := i - 1; k >= start && r.t[k] >= r.t[i]; k-- {
		if r.t[k] == r.t[i] && r.equalRows(i, k) {
			return true
		}
	}
	return false
}

// dropStrays leaves out single rows whose time lies days away from all others: a counter before it was set, a digit that went wrong.
func (r *rowset) dropStrays(l *drive.Log) {
	if least, most := order.Bounds(r.t); most-least <= strayBy {
		return
	}
	far := func(i, k int) bool { return k >= 0 && k < len(r.t) && math.Abs(r.t[i]-r.t[k]) > strayBy }
	near := func(i, k int) bool { return i < 0 || k >= len(r.t) || math.Abs(r.t[i]-r.t[k]) <= strayBy }
	keep := make([]bool, len(r.t))
	n := 0
	for i := range r.t {
		alone := (far(i, i-1) || i == 0) && (far(i, i+1) || i == len(r.t)-1)
		keep[i] = len(r.t) < strayRows || !alone || !near(i-1, i+1)
		if !keep[i] {
			n++
		}
	}
	if n == 0 || n*strayRows > len(r.t) {
		return
	}
	r.keep(keep)
	r.back = r.stepsBack()
	l.Warnings = append(l.Warnings, finding.New(finding.StrayTimes, finding.Name("file", l.Path), finding.Count("rows", n)))
}

// dropSummary leaves out the last rows of a table that is in order but for them: averages of the columns, the time's among them.
func (r *rowset) dropSummary(l *drive.Log) {
	n := len(r.t)
	if len(r.back) == 0 || r.back[0] < summaryFew || r.back[0] < n-summaryRows {
		return
	}
	first := r.back[0]
	for i := first; i < n; i++ {
		if r.t[i] > r.t[first-1]-summaryBack*r.pace() {
			return
		}
	}
	keep := slices.Repeat([]bool{true}, n)
	for i := first; i < n; i++ {
		keep[i] = false
	}
	r.keep(keep)
	r.back = r.stepsBack()
	l.Warnings = append(l.Warnings, finding.New(finding.SummaryRows, finding.Name("file", l.Path), finding.Count("rows", n-first)))
}

// dropCopies leaves out stretches of rows that stand further above already, times and all: a drive that was put behind itself is no second drive.
func (r *rowset) dropCopies(l *drive.Log) {
	if len(r.back) == 0 || len(r.back)*setBackRare > len(r.t) {
		return
	}
	starts := append([]int{0}, r.back...)
	keep := slices.Repeat([]bool{true}, len(r.t))
	n := 0
	for k := 1; k < len(starts); k++ {
		i, end := starts[k], len(r.t)
		if k+1 < len(starts) {
			end = starts[k+1]
		}
		if end-i < copyRows || !slices.ContainsFunc(starts[:k], func(j int) bool { return r.copied(j, i, end) }) {
			continue
		}
		n += end - i
		for ; i < end; i++ {
			keep[i] = false
		}
	}
	if n == 0 {
		return
	}
	r.keep(keep)
	r.back = r.stepsBack()
	l.Warnings = append(l.Warnings, finding.New(finding.DuplicateRows, finding.Name("file", l.Path), finding.Count("rows", n)))
}

// copied tells whether rows [i, end) are those from row j on.
func (r *rowset) copied(j, i, end int) bool {
	if j+end-i > i {
		return false
	}
	for k := range end - i {
		if r.t[j+k] != r.t[i+k] || !r.equalRows(j+k, i+k) {
			return false
		}
	}
	return true
}

// meanPace is the mean step from one row to the next but for pauses, which are many times as long as the others.
func (r *rowset) meanPace() float64 {
	span, steps := r.t[len(r.t)-1]-r.t[0], len(r.t)-1
	pace, last := span/float64(steps), math.Inf(1)
	for pace < last {
		last = pace
		paused, pauses := 0.0, 0
		for i := 1; i < len(r.t); i++ {
			if d := r.t[i] - r.t[i-1]; d > pausePaces*last {
				paused, pauses = paused+d, pauses+1
			}
		}
		if pauses < steps {
			pace = (span - paused) / float64(steps-pauses)
		}
	}
	return last
}

// bunches returns where rows [lo, hi) stand closer together than near (s), be they two.
func (r *rowset) bunches(near float64) (all [][2]int) {
	lo := 0
	for hi := 1; hi <= len(r.t); hi++ {
		if hi < len(r.t) && r.t[hi]-r.t[hi-1] < near {
			continue
		}
		if hi-lo > 1 {
			all = append(all, [2]int{lo, hi})
		}
		lo = hi
	}
	return all
}

// onlyBunches tells whether the rows stand in bunches all through, closer together than near (s).
func (r *rowset) onlyBunches(all [][2]int, near float64) bool {
	close := 0
	for _, b := range all {
		close += b[1] - b[0] - 1
	}
	return len(r.t) >= bunchesFew && float64(close) >= bunchesOnly*float64(len(r.t)-1) && slices.ContainsFunc(r.v, func(v []float64) bool { return r.changesInBunches(v, near) })
}

// changesInBunches tells whether a column changes inside bunches about as often as from one to the next.
func (r *rowset) changesInBunches(v []float64, near float64) bool {
	var inside, between, changedInside, changedBetween float64
	for i := 1; i < len(v); i++ {
		if math.IsNaN(v[i]) || math.IsNaN(v[i-1]) {
			continue
		}
		changed := 0.0
		if v[i] != v[i-1] {
			changed = 1
		}
		if r.t[i]-r.t[i-1] < near {
			inside, changedInside = inside+1, changedInside+changed
		} else {
			between, changedBetween = between+1, changedBetween+changed
		}
	}
	return changedBetween > 0 && changedInside*between >= bunchAlike*changedBetween*inside
}

// unbunch spreads rows that were handed on together, and stamped then, over the time since the row before.
func (r *rowset) unbunch(l *drive.Log) {
	if len(r.t) < 2 {
		return
	}
	pace := r.meanPace()
	bunches := r.bunches(bunchStep * pace)
	least := bunchRows
	if r.onlyBunches(bunches, bunchStep*pace) {
		least = 2
	}
	bunches = slices.DeleteFunc(bunches, func(b [2]int) bool { return b[0] == 0 || b[1]-b[0] < least })
	rows := 0
	for _, b := range bunches {
		rows += b[1] - b[0]
	}
	if float64(rows) < bunchedShare*float64(len(r.t)) {
		return
	}
	for _, b := range bunches {
		n := float64(b[1] - b[0])
		last := r.t[b[1]-1]
		apart := min((last-r.t[b[0]-1])/n, bunchGap*pace)
		for k := b[0]; k < b[1]; k++ {
			r.t[k] = last - apart*float64(b[1]-1-k)
		}
	}
	l.Warnings = append(l.Warnings, finding.New(finding.BunchedStamps, finding.Name("file", l.Path), finding.Count("bunched", rows), finding.Count("rows", len(r.t))))
}
