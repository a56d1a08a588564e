package csvlog

import (
	"iter"
	"math"
	"slices"
	"sync"

	"flywitness/drive"
	"flywitness/internal/order"
	"flywitness/internal/parts"
)

// Sample and hold: a logger that writes a row every 50 ms although the car answers every 400 ms repeats each value until the next comes. Only
// fresh values are measurements. Engine speed moves at nearly every reply, so its changes show the poll cycle; every channel then has
// one sample in each cycle: where it changes, or, when it truly stayed equal, where it usually changes in the cycle.

// hold is what is known of the repeating of one column.
type hold struct {
	cycle float64 // rows from one reply to the next; 0 when values are not repeated
}

// run is a stretch of equal values.
type run struct {
	start, n int
	v        float64
}

// runsOf cuts a column, without its NaN, into runs of equal values.
func runsOf(v []float64) iter.Seq[run] {
	return func(yield func(run) bool) {
		r := run{v: math.NaN()}
		for i, x := range v {
			switch {
			case math.IsNaN(x):
			case x == r.v:
				r.n = i - r.start + 1
			default:
				if r.n > 0 && !yield(r) {
					return
				}
				r = run{i, 1, x}
			}
		}
		if r.n > 0 {
			yield(r)
		}
	}
}

// holdOf finds whether values are repeated. A value of coarse resolution stays equal for many rows without being stale, so only runs between two
// changes of at least three resolution steps tell: there the true value moved on in every row.
func holdOf(v []float64, step float64) hold {
	if step == 0 {
		return hold{}
	}
	lengths := lengthsOf(v, 3*step)
	all, single := lengths.upTo(math.Inf(1)), lengths.upTo(1)
	if all.n < 8 || (all.n-single.n)*10 < all.n*6 {
		return hold{}
	}
	usual := lengths.upTo(1.5 * lengths.median())
	return hold{cycle: usual.rows / usual.n}
}

// lengthsOf counts the runs that lie far from those on either side, on all cores: a part has one row of either neighbour's.
func lengthsOf(v []float64, far float64) (lengths runLengths) {
	var all sync.Mutex
	parts.ByCore(len(v), func(lo, hi int) {
		begins := func(i int) bool { return v[i] == v[i] && v[i-1] == v[i-1] && v[i] != v[i-1] }
		for lo > 0 && lo < hi && !begins(lo) {
			lo++
		}
		if lo == hi {
			return
		}
		for hi < len(v) && !begins(hi) {
			hi++
		}
		own := lengthsIn(v[max(0, lo-1):min(len(v), hi+1)], far)
		all.Lock()
		defer all.Unlock()
		lengths.join(own)
	})
	return lengths
}

// lengthsIn counts them in one part.
func lengthsIn(v []float64, far float64) (lengths runLengths) {
	var r run
	apart := false // r lies far from the run before it
	for next := range runsOf(v) {
		changed := r.n > 0 && math.Abs(next.v-r.v) >= far
		if apart && changed {
			lengths.add(r.n, 1)
		}
		r, apart = next, changed
	}
	return lengths
}

// runLengths counts runs: how many there are of each length.
type runLengths []int

// add counts so many runs of n rows.
func (l *runLengths) add(n, runs int) {
	for len(*l) <= n {
		*l = append(*l, 0)
	}
	(*l)[n] += runs
}

func (l *runLengths) join(o runLengths) {
	for n, runs := range o {
		l.add(n, runs)
	}
}

// runs is a number of runs and how many rows are in them.
type runs struct{ n, rows float64 }

// upTo sums up the runs of at most so many rows.
func (l runLengths) upTo(most float64) (sum runs) {
	for rows, n := range l {
		if float64(rows) <= most {
			sum.n += float64(n)
			sum.rows += float64(n) * float64(rows)
		}
	}
	return sum
}

// median is the mean of the two middle lengths.
func (l runLengths) median() float64 {
	all := l.upTo(math.Inf(1)).n
	low, high, seen := -1, -1, 0.0
	for rows, n := range l {
		seen += float64(n)
		if low < 0 && 2*seen >= all {
			low = rows
		}
		if high < 0 && 2*seen > all {
			high = rows
		}
	}
	return float64(low+high) / 2
}

// finite returns v without its NaN.
func finite(v []float64) []float64 {
	if !order.HasNaN(v) {
		return v
	}
	out := make([]float64, 0, len(v))
	for _, x := range v {
		if !math.IsNaN(x) {
			out = append(out, x)
		}
	}
	return out
}

// fresh marks the rows that carry a new reply. A run that is longer than the cycle may hide replies of equal value: where mayStay says that the value can stay
// equal, one is taken every cycle. A running engine does not keep its speed to a fine step from one reply to the next; a longer run is then a reply that came late,
// or a link that hung, and an old value must not pass for a new one.
func (h hold) fresh(v []float64, mayStay func(r run) bool) []bool {
	out := make([]bool, len(v))
	for r := range runsOf(v) {
		out[r.start] = true
		if float64(r.n) < 1.5*h.cycle || !mayStay(r) {
			continue
		}
		for k := 1; ; k++ {
			i := r.start + int(math.Round(float64(k)*h.cycle))
			if float64(r.start+r.n-i) < 0.5*h.cycle {
				break
			}
			out[i] = true
		}
	}
	return out
}

// freshInCycles marks the rows of a column that is polled once in each cycle of engine speed: its changes, and one row in each cycle without a change.
func freshInCycles(v []float64, cycles []int) []bool {
	out := make([]bool, len(v))
	for r := range runsOf(v) {
		out[r.start] = true
	}
	phase := usualPhase(v, cycles)
	for c, lo := range cycles {
		hi := len(v)
		if c+1 < len(cycles) {
			hi = cycles[c+1]
		}
		changed := false
		for i := lo; i < hi; i++ {
			changed = changed || out[i]
		}
		if i := min(lo+phase, hi-1); !changed && !math.IsNaN(v[i]) {
			out[i] = true
		}
	}
	return out
}

// usualPhase returns how many rows after the beginning of a cycle a column changes most often.
func usualPhase(v []float64, cycles []int) int {
	count := map[int]int{}
	best, c := 0, 0
	for r := range runsOf(v) {
		for c+1 < len(cycles) && cycles[c+1] <= r.start {
			c++
		}
		if len(cycles) > 0 && r.start >= cycles[c] {
			p := r.start - cycles[c]
			count[p]++
			if count[p] > count[best] || count[p] == count[best] && p < best {
				best = p
			}
		}
	}
	return best
}

// freshRows returns for each column the rows that carry a new value, nil for all of them; held tells that some did not.
func (r *rowset) freshRows() (fresh [][]bool, held bool) {
	fresh = make([][]bool, len(r.cols))
	engine := r.column(drive.EngineSpeed)
	if engine < 0 || r.filled(engine) < 0.8 {
		return fresh, false
	}
	step := r.resolution(engine)
	h := holdOf(r.v[engine], step)
	if h.cycle == 0 {
		return fresh, false
	}
	fresh[engine] = h.fresh(r.v[engine], func(x run) bool { return x.v == 0 || step > 1 })
	var cycles []int
	for i, f := range fresh[engine] {
		if f {
			cycles = append(cycles, i)
		}
	}
	for i := range r.cols {
		if i == engine || r.filled(i) < 0.8 {
			continue
		}
		own := holdOf(r.v[i], r.resolution(i))
		if own.cycle > 1.5*h.cycle || own.cycle > 0 && own.cycle < h.cycle/1.5 {
			fresh[i] = own.fresh(r.v[i], func(run) bool { return true })
			continue
		}
		fresh[i] = freshInCycles(r.v[i], cycles)
	}
	return fresh, true
}

// resolution is the smallest step of column i.
func (r *rowset) resolution(i int) float64 {
	_, v := r.samples(i)
	return drive.Resolution(&drive.Channel{V: v})
}

// filled returns the share of rows in which column i holds a value.
func (r *rowset) filled(i int) float64 {
	if len(r.t) == 0 {
		return 0
	}
	return float64(r.count(i, nil, 0, len(r.t))) / float64(len(r.t))
}

// frozenSeconds is how long a running engine in a moving car can keep every logged value to a fine step; longer, and the link hung.
const (
	frozenSeconds = 3
	frozenRows    = 10 // at least: fewer are no hung link, but a slow one
)

// usualShare of the moves of a column from row to row are no larger than its usual one.
const usualShare = 0.9

// dropFrozen drops the rows in which a logger went on writing after the link had hung: engine speed of a step of at most 1 rpm, and everything
// else, stays equal for seconds while the car moves, and then is somewhere else. Where the next row goes on from it, an engine at its limiter or a cruise
// control held still. It returns how many rows and seconds went. Held rows have their own rule (fresh).
func (r *rowset) dropFrozen(held bool) (rows int, seconds float64) {
	engine, speed := r.column(drive.EngineSpeed), r.column(drive.VehicleSpeed)
	if held || engine < 0 || speed < 0 {
		return 0, 0
	}
	var usual []float64 // moves of engine speed and road speed
	var keep []bool
	for lo, hi := range r.equalStretches(engine) {
		if r.t[hi-1]-r.t[lo] < frozenSeconds || !(r.v[engine][lo] > 0) || !(r.v[speed][lo] > 0) {
			continue
		}
		if usual == nil {
			usual = []float64{usualMove(r.v[engine]), usualMove(r.v[speed])}
			keep = slices.Repeat([]bool{true}, len(r.t))
		}
		if hi < len(r.t) && change(r.v[engine], hi) <= usual[0] && change(r.v[speed], hi) <= usual[1] {
			continue
		}
		for i := lo + 1; i < hi; i++ {
			keep[i] = false
		}
		rows += hi - lo - 1
		seconds += r.t[hi-1] - r.t[lo]
	}
	if rows == 0 || r.resolution(engine) > 1 {
		return 0, 0
	}
	r.keep(keep)
	return rows, seconds
}

// equalStretches yields the stretches [lo, hi) of at least frozenRows rows that are equal in all columns and have a
// value in the named one. Two neighbours of the rows that are looked at lie in each of them.
func (r *rowset) equalStretches(column int) iter.Seq2[int, int] {
	return func(yield func(lo, hi int) bool) {
		v := r.v[column]
		lo, hi := 0, 0
		for i := frozenRows / 2; i < len(v); i += frozenRows / 2 {
			if i < hi || v[i] != v[i-frozenRows/2] {
				continue
			}
			for lo = i; lo > 0 && r.equalRows(lo-1, i); {
				lo--
			}
			for hi = i + 1; hi < len(v) && r.equalRows(i, hi); {
				hi++
			}
			if hi-lo >= frozenRows && !yield(lo, hi) {
				return
			}
		}
	}
}

// usualMove is how far a value that moves goes from one row to the next.
func usualMove(v []float64) float64 {
	var moves []float64
	for i := 1; i < len(v); i++ {
		if d := change(v, i); d > 0 {
			moves = append(moves, d)
		}
	}
	if len(moves) == 0 {
		return 0
	}
	slices.Sort(moves)
	return moves[int(usualShare*float64(len(moves)-1))]
}

// column returns the index of a channel's column, -1 without one.
func (r *rowset) column(channel string) int {
	for i, c := range r.cols {
		if c.channel == channel {
			return i
		}
	}
	return -1
}
