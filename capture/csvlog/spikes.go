package csvlog

import (
	"fmt"
	"math"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/parts"
)

// Zeros of cells that were not asked for, and the largest number that a byte holds, stand among values that are true. No car moves like that.
const (
	spikeTime   = 1.0   // s that such values last, at most
	leapKmh     = 200.0 // km/h/s: five times what the best tyres do, and more than wheels that spin gain
	leapSlack   = 3.0   // km/h, on top: two steps of the display, and the car's own way meanwhile
	allOnes     = 254.5 // km/h: a byte of ones
	runningFrom = 400.0 // rpm of an engine that runs: one that stopped does not run again within a second
)

// dropSpikes leaves out engine speeds of zero between others, and road speeds that leap to zero or to a byte of ones and back.
func (r *rowset) dropSpikes(l *drive.Log) {
	cut := make([]struct{ n, first int }, len(r.cols)) // values of each column, and the row of the first
	parts.Each(len(r.cols), 1, func(i, _ int) {
		switch c := &cut[i]; {
		case r.cols[i].channel == drive.EngineSpeed:
			c.n, c.first = r.cutOut(r.v[i], math.Inf(1), func(from, to int) bool { return r.v[i][from] >= runningFrom && r.v[i][to] == 0 },
				func(from, to int) bool { return r.v[i][to] >= runningFrom })
		case drive.IsRoadSpeed(r.cols[i].channel):
			v := r.v[i]
			apart := func(from, to int) bool {
				return math.Abs(v[to]-v[from]) > leapSlack+leapKmh*math.Abs(r.t[to]-r.t[from])
			}
			c.n, c.first = r.cutOut(v, allOnes, func(from, to int) bool { return (v[to] == 0 || v[to] >= allOnes) && apart(from, to) },
				func(from, to int) bool { return !apart(from, to) })
		}
	})
	for i, c := range r.cols {
		if n, first := cut[i].n, cut[i].first; n > 0 {
			if r.full != nil {
				r.full[i] = false
			}
			l.Warnings = append(l.Warnings, finding.New(finding.ImpossibleLeaps, finding.Name("channel", c.channel), finding.Count("cells", n),
				finding.Name("column", c.raw), finding.Name("first", fmt.Sprintf("%.1f s", r.t[first]-r.t[0]))))
		}
	}
}

// cutOut makes NaN of the values from where they are away from the last good one to where they are back, if that is soon enough. No value is
// away that is neither zero nor as large as large. It returns how many there were, and the row of the first.
func (r *rowset) cutOut(v []float64, large float64, away, back func(from, to int) bool) (n, first int) {
	last := -1 // the last good value
	for i := 0; i < len(v); i++ {
		if v[i] > 0 && v[i] < large {
			last = i
			continue
		}
		if math.IsNaN(v[i]) {
			continue
		}
		if last >= 0 && away(last, i) {
			if end := r.backAgain(v, last, i, back); end > 0 {
				for k := i; k < end; k++ {
					if !math.IsNaN(v[k]) {
						v[k] = math.NaN()
						n++
					}
				}
				if first == 0 {
					first = i
				}
				i = end
			}
		}
		last = i
	}
	return n, first
}

// backAgain returns the row in which the value is back where it was in row last, 0 where it is not within the time that a spike lasts.
func (r *rowset) backAgain(v []float64, last, i int, back func(from, to int) bool) int {
	for k := i + 1; k < len(v) && r.t[k]-r.t[last] <= spikeTime; k++ {
		if !math.IsNaN(v[k]) && back(last, k) {
			return k
		}
	}
	return 0
}
