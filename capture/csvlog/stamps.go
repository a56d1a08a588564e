package csvlog

import (
	"math"
	"slices"
	"sort"

	"flywitness/finding"
	"flywitness/internal/order"
	"flywitness/internal/parts"
)

// rowset is rows on one clock: t in seconds and, for each column, a value or NaN.
type rowset struct {
	t        []float64
	unit     float64 // s of one unit of the clock's numbers; 0 for clock times
	v        [][]float64
	full     []bool // of v: there is a value in every row; nil: nobody has looked
	usable   []bool // of v: no value that was read lies beyond the limits of its column; nil: nobody has looked
	cols     []*column
	back     []int // stepsBack of the times as they are now
	unsure   bool  // day and month of the dates could be the other way round
	drawn    []drawn
	smoothed []smoothing
	dense    []samples // by column, of those with holes; nil: none was asked for
	spare    []float64 // memory that nobody needs any more
}

// samples are the times and values of a column without its holes.
type samples struct{ t, v []float64 }

// restartGap is put between the end of a recording and what follows in the same file on a clock that began again, in seconds. It is
// longer than any gap that the analysis bridges.
const restartGap = 60

const (
	closeRows   = 0.6 // of the usual step, within which rows of two recordings lie from each other, in the mean
	overlapRows = 3   // that stand so: a recording that began again
)

// order puts the rows in the order in which they were recorded. Small steps back are jitter of the stamps: the rows then stand in their order
// of arrival and stay there. Rows that were sorted otherwise, as a database may return them, are sorted by time; a clock that begins again goes on behind what came before.
func (r *rowset) order(absolute bool, name string) []finding.Finding {
	if slices.IsSorted(r.t) {
		return nil
	}
	if n := len(r.t); r.newestFirst() {
		r.permute(func(i int) int { return n - 1 - i })
		r.back = r.stepsBack()
		return append([]finding.Finding{finding.New(finding.OutOfOrder, finding.Name("file", name), finding.Flag("newest_first", true))}, r.order(absolute, name)...)
	}
	back := r.back
	if len(back) == 0 {
		return nil
	}
	var out []finding.Finding
	again := r.overlaps()
	start, restarts := 0, 0
	shift := 0.0
	raw := append([]float64(nil), r.t...)
	next := 0
	for i := range r.t {
		if next < len(back) && back[next] == i {
			next++
			if again && !absolute && len(back)*50 <= len(r.t) && i-start >= 10 && raw[i]-raw[start] < 0.2*(raw[i-1]-raw[start]) && raw[i-1]-raw[start] >= 5 {
				shift = r.t[i-1] + restartGap - raw[i]
				start = i
				restarts++
			}
		}
		r.t[i] = raw[i] + shift
	}
	if restarts > 0 {
		out = append(out, finding.New(finding.ClockRestarts, finding.Name("file", name), finding.Count("times", restarts), finding.Duration("gap", restartGap)))
	}
	if back = r.stepsBack(); len(back) > 0 {
		r.sort()
		out = append(out, finding.New(finding.OutOfOrder, finding.Name("file", name), finding.Count("places", len(back))))
	}
	return out
}

// overlaps tells whether the same times were written twice: in the order of time, rows then stand closer than they came.
func (r *rowset) overlaps() bool {
	sorted := slices.Clone(r.t)
	order.Sort(sorted)
	near := closeRows * order.MedianStep(r.t)
	crowded := 0
	for i := 1; i < len(sorted); i++ {
		if sorted[i]-sorted[i-1] <= near {
			crowded++
		}
		if math.Abs(r.t[i]-r.t[i-1]) <= near {
			crowded--
		}
	}
	return crowded >= overlapRows
}

// stepsBack returns the rows whose time lies more than the jitter of stamps, one and a half usual steps, before the row above.
func (r *rowset) stepsBack() []int {
	if slices.IsSorted(r.t) {
		return nil
	}
	tolerance := 1.5 * r.pace()
	var back []int
	for i := 1; i < len(r.t); i++ {
		if r.t[i] < r.t[i-1]-tolerance {
			back = append(back, i)
		}
	}
	return back
}

// pace is the usual step from one time to the next, whatever order the rows stand in.
func (r *rowset) pace() float64 {
	r.spare = order.Grow(r.spare[:0], len(r.t))[:len(r.t)]
	parts.ByCore(len(r.t), func(lo, hi int) { copy(r.spare[lo:hi], r.t[lo:hi]) })
	order.Sort(r.spare)
	return order.MedianStep(r.spare)
}

// newestFirst tells whether most steps lead back.
func (r *rowset) newestFirst() bool {
	steps, on := len(r.t)-1, 0
	for i := 1; i < len(r.t); i++ {
		if !(r.t[i] < r.t[i-1]) {
			if on++; on*10 >= steps*4 {
				return false
			}
		}
	}
	return steps > 0
}

func (r *rowset) sort() {
	index := make([]int, len(r.t))
	for i := range index {
		index[i] = i
	}
	sort.SliceStable(index, func(a, b int) bool { return r.t[index[a]] < r.t[index[b]] })
	r.permute(func(i int) int { return index[i] })
}

func (r *rowset) permute(from func(i int) int) {
	for k, old := range append([][]float64{r.t}, r.v...) {
		moved := make([]float64, len(old))
		for i := range moved {
			moved[i] = old[from(i)]
		}
		if k == 0 {
			r.t = moved
		} else {
			r.v[k-1] = moved
		}
	}
}

// keep drops the rows for which keep is false.
func (r *rowset) keep(keep []bool) {
	r.dense = nil
	for k, old := range append([][]float64{r.t}, r.v...) {
		left := old[:0]
		for i, x := range old {
			if keep[i] {
				left = append(left, x)
			}
		}
		if k == 0 {
			r.t = left
		} else {
			r.v[k-1] = left
		}
	}
}

// dropDuplicates drops rows that are written twice: same time, same values. It is for stamps that are fine enough to tell rows apart.
func (r *rowset) dropDuplicates() int {
	twice := slices.DeleteFunc(repeated(r.t), func(i int) bool { return !r.equalRows(i, i-1) })
	if len(twice) == 0 {
		return 0
	}
	r.t, r.dense = without(r.t, twice), nil
	for i := range r.v {
		r.v[i] = without(r.v[i], twice)
	}
	return len(twice)
}

func (r *rowset) equalRows(i, j int) bool {
	for _, v := range r.v {
		if v[i] != v[j] && !(math.IsNaN(v[i]) && math.IsNaN(v[j])) {
			return false
		}
	}
	return true
}

// stampStep returns the step of coarse time stamps (60, 1, 0.5 or 0.1 s, or that of batches), 0 when they are fine; shared tells that several rows share a stamp although they are rows of
// different moments.
func (r *rowset) stampStep() (step float64, shared bool) {
	if len(r.t) < 10 {
		return 0, false
	}
	again := repeated(r.t)
	for _, q := range []float64{60, 1, 0.5, 0.1} {
		if r.offGrid(q) {
			continue
		}
		clash := 0
		for _, i := range again {
			if r.clash(i) {
				clash++
			}
		}
		share := 50 // one row in 50 at whole seconds: the rows come a little faster than the stamps
		if q < 1 {
			share = 5
		}
		shared = clash*share > len(r.t) && clash*2 > len(again)
		if q < 1 && !shared {
			return 0, false // a regular grid
		}
		return q, shared
	}
	return r.batches(again)
}

// batches returns the usual step of stamps that a whole batch of rows shares: the logger stamped what it was handed, not what it was told.
func (r *rowset) batches(again []int) (step float64, shared bool) {
	n := 0
	for _, i := range again {
		if r.clash(i) && !r.equalRows(i, i-1) {
			n++
		}
	}
	if n*10 < len(r.t) { // one row in ten: else it is a second value for one moment
		return 0, false
	}
	return order.MedianStep(r.t), true
}

// clash tells whether row i and the one above both have a value in some column.
func (r *rowset) clash(i int) bool {
	for _, v := range r.v {
		if !math.IsNaN(v[i]) && !math.IsNaN(v[i-1]) {
			return true
		}
	}
	return false
}

// offGrid tells whether more than one stamp in a thousand lies between steps of q.
func (r *rowset) offGrid(q float64) bool {
	off := 0
	for _, t := range r.t {
		if x := (t - r.t[0]) / q; math.Abs(x-math.Round(x)) > 1e-4 {
			if off++; off > len(r.t)/1000 {
				return true
			}
		}
	}
	return false
}

// spread replaces coarse stamps by times between them: rows are written at an even pace, so their times run linearly from one
// change of the stamp to the next, and a mean over 15 rows takes out most of the error of the single change. Gaps are not filled: before one
// the rows keep the usual pace.
func (r *rowset) spread(step float64) {
	starts := []int{0}
	for i := 1; i < len(r.t); i++ {
		if r.t[i] != r.t[i-1] {
			starts = append(starts, i)
		}
	}
	starts = append(starts, len(r.t))
	pace, isGap := paceOf(r.t, starts, step)
	out := make([]float64, len(r.t))
	segment := 0
	for b := 0; b+1 < len(starts); b++ {
		lo, hi := starts[b], starts[b+1]
		slope := pace
		gap := isGap[b]
		if !gap {
			slope = (r.t[hi] - r.t[lo]) / float64(hi-lo)
		}
		for i := lo; i < hi; i++ {
			out[i] = r.t[lo] + slope*float64(i-lo)
		}
		if gap {
			smooth(out[segment:hi], 7)
			segment = hi
		}
	}
	r.t = out
}

// paceOf returns the usual time of one row and which blocks of equal stamps are followed by a gap, a step back or the end.
func paceOf(t []float64, starts []int, step float64) (pace float64, isGap []bool) {
	blocks := len(starts) - 1
	var spans []float64
	for b := 0; b+1 < blocks; b++ {
		spans = append(spans, t[starts[b+1]]-t[starts[b]])
	}
	limit := 3*order.Median(slices.Clone(spans)) + step
	isGap = make([]bool, blocks)
	var time, rows float64
	for b := range isGap {
		isGap[b] = b == blocks-1 || spans[b] > limit || spans[b] <= 0
		if !isGap[b] {
			time += spans[b]
			rows += float64(starts[b+1] - starts[b])
		}
	}
	if rows > 0 {
		pace = time / rows
	}
	return pace, isGap
}

// smooth replaces x by its centred moving mean over half rows to each side, fewer at the ends.
func smooth(x []float64, half int) {
	sum := make([]float64, len(x)+1)
	for i, v := range x {
		sum[i+1] = sum[i] + (v - x[0])
	}
	first := x[0]
	for i := range x {
		h := min(half, i, len(x)-1-i)
		x[i] = first + (sum[i+h+1]-sum[i-h])/float64(2*h+1)
	}
}
