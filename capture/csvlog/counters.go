package csvlog

import (
	"math"
	"slices"

	"flywitness/drive"
	"flywitness/finding"
)

// Clocks whose numbers do not simply rise: 9:41:03.25 written as 94103.25, and counters that begin again at zero.

const (
	stepsBeside  = 3.0 // usual steps between the rows on either side of such a place, at most
	rolloverFrom = 20  // usual steps in a turn of a counter, at least: else jitter looks like one
)

// countOn puts the stamps of such clocks on one count of seconds.
func (r *rowset) countOn(l *drive.Log) {
	if seconds := r.clockDigits(); seconds != nil {
		r.t = seconds
		r.back = r.stepsBack()
		l.Warnings = append(l.Warnings, finding.New(finding.ClockDigits, finding.Name("file", l.Path)))
	}
	if times, turn := r.unroll(); times > 0 {
		r.back = r.stepsBack()
		l.Warnings = append(l.Warnings, finding.New(finding.ClockTurns, finding.Name("file", l.Path), finding.Count("times", times), finding.Duration("turn", turn)))
	}
}

// clockDigits reads stamps such as 94103.25 as clock times, nil where they are none: none has seconds or minutes of 60 and more, and where the minute
// changes a step of 40 is one to the next row. Before the minute changes, both readings are the same.
func (r *rowset) clockDigits() []float64 {
	for _, t := range r.t {
		if h, m, s := clockOf(t); t < 0 || h >= 24 || m >= 60 || s >= 60 {
			return nil
		}
	}
	seconds := make([]float64, len(r.t))
	for i, t := range r.t {
		h, m, s := clockOf(t)
		seconds[i] = h*3600 + m*60 + s
	}
	near := stepsBeside * r.pace()
	for i := 1; i < len(r.t); i++ {
		if math.Abs(seconds[i]-seconds[i-1]) <= near && math.Abs(r.t[i]-r.t[i-1]) > near {
			return seconds
		}
	}
	return nil
}

// clockOf takes 94103.25 apart.
func clockOf(t float64) (h, m, s float64) {
	return math.Floor(t / 10000), math.Mod(math.Floor(t/100), 100), math.Mod(t, 100)
}

// turns are after how many seconds clocks begin again: minutes, hours and days, and counters of 16 and 32 bits.
func (r *rowset) turns() []float64 {
	all := []float64{60, 3600, 86400}
	for _, unit := range []float64{r.unit, 1e-3, 1e-6} {
		all = append(all, unit*(1<<16), unit*(1<<32))
	}
	slices.Sort(all)
	return all
}

// unroll counts on over the places where a counter began again at zero, and returns how many there are. A counter never shows its turn
// or more, and the car drives on.
func (r *rowset) unroll() (times int, turn float64) {
	if len(r.back) == 0 {
		return 0, 0
	}
	top, step := slices.Max(r.t), r.pace()
	turns := r.turns()
	i := slices.IndexFunc(turns, func(turn float64) bool { return turn > top })
	if i < 0 || turns[i] < rolloverFrom*step || slices.Min(r.t) < 0 {
		return 0, 0
	}
	turn = turns[i]
	var at []int
	most := r.moves(r.back)
	for _, i := range r.back {
		if r.t[i]+turn-r.t[i-1] <= stepsBeside*step && r.goesOn(i, most) {
			at = append(at, i)
		}
	}
	if 2*len(at) <= len(r.back) {
		return 0, 0
	}
	for n, i := range at {
		end := len(r.t)
		if n+1 < len(at) {
			end = at[n+1]
		}
		for k := i; k < end; k++ {
			r.t[k] += float64(n+1) * turn
		}
	}
	return len(at), turn
}

// moves returns how far each column moves from one row to the next at most, but for rows apart.
func (r *rowset) moves(apart []int) []float64 {
	most := make([]float64, len(r.v))
	for c, v := range r.v {
		for i := 1; i < len(v); i++ {
			if _, other := slices.BinarySearch(apart, i); !other {
				most[c] = max(most[c], change(v, i))
			}
		}
	}
	return most
}

// goesOn tells whether no value moves further in row i than most: another recording begins anywhere.
func (r *rowset) goesOn(i int, most []float64) bool {
	for c, v := range r.v {
		if change(v, i) > most[c] {
			return false
		}
	}
	return true
}

// change is how far a value moved in row i, 0 where it is not known.
func change(v []float64, i int) float64 {
	if d := math.Abs(v[i] - v[i-1]); !math.IsNaN(d) {
		return d
	}
	return 0
}
