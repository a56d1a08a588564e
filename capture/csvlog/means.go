package csvlog

import (
	"math"
	"slices"

	"flywitness/drive"
	"flywitness/internal/order"
)

// A logger may write the mean of the last few values of each channel. A change of gear is then drawn over as many rows, and on a slow link an engine
// seems to run ahead for seconds. But the sum of m whole steps is whole, and as one value enters it another leaves: x = x m rows before + what the sum
// grew by. That gives all values back but for what the first m were, m numbers that stand in all of their rows: those that leave the least jumps.
const (
	meanWhole   = 0.95 // of the rows that move have a sum of whole steps,
	meanDigits  = 0.7  // of a step that the digits of a sum leave, at most: with more, chance makes most of them whole
	meanFresh   = 0.6  // of the rows bring a new engine speed: a row that repeats the one before lets no value in
	meanSlow    = 0.4  // s from row to row in the mean, from where means that hardly show make seconds of nothing
	meanMoved   = 60   // rows that move, at least
	meanFew     = 40   // rows between two gaps that tell their first values; fewer stay as they are
	meanSure    = 150  // rows in one piece that show whether x is what a car does: a sum that is no such mean wanders off
	meanJump    = 2.0  // steps by which rows of one kind bend otherwise late than early, at most,
	meanSigmas  = 3.0  // and standard deviations of
	medianError = 1.86 // times the median of sizes over the root of their number, that of a normal median (1.2533 x 1.4826)
	meanStands  = 0.5  // km/h, by which a car that stands may seem to go backwards, and in so many
	meanBack    = 0.02 // of the rows does
	meanRounds  = 20   // of bringing each kind between its neighbours
	meanGap     = 1.7  // times the pace: a row may be lost, and what left the sum with it
)

// unmean gives columns of which the logger wrote the mean of its last values those values back. Road speed, which has the coarsest steps, shows of
// how many; then all columns are alike. It tells whether it did.
func (r *rowset) unmean() bool {
	m := 0
	for i, c := range r.cols {
		if slices.Contains(meanShown, c.channel) {
			m = max(m, r.meanOver(i))
		}
	}
	if m == 0 {
		return false
	}
	if i := r.column(drive.EngineSpeed); i >= 0 {
		if _, n := r.samples(i); changes(n) < meanFresh*float64(len(n)) {
			return false
		}
	}
	pace := order.MedianStep(r.t)
	for i, c := range r.cols {
		d, _ := drive.Define(c.channel)
		if t, y := r.samples(i); slices.Contains(drawnChannels, c.channel) && len(y) >= meanFew {
			digit := lastDigit(y, c.conv, smoothedDigits)
			whole := 0.0 // the step of what the logger read, where its digits tell
			for _, step := range r.stepsOf(c, d.Request.Scale) {
				if whole == 0 && float64(m)*digit <= meanDigits*step && summed(y, step, digit, m) {
					whole = step
				}
			}
			r.fill(i, apartFrom(t, y, m, whole))
			r.smoothed = append(r.smoothed, smoothing{c.channel, float64(m) * pace})
		}
	}
	return true
}

// changes counts the values that are not the one before.
func changes(v []float64) (n float64) {
	for i := 1; i < len(v); i++ {
		if v[i] != v[i-1] {
			n++
		}
	}
	return n
}

// meanShown are the channels that show of how many values the rows are the mean.
var meanShown = []string{drive.VehicleSpeed, drive.UndrivenSpeed}

// stepsOf are the steps that a car may have given the values of a column in, the coarsest first: that of the standard's
// request, in its unit and in the column's, and of a speed on the car's own network a tenth of it. A quick logger draws lines
// whose values lie at as fine places, and the mean of its few rows is short.
func (r *rowset) stepsOf(c *column, scale float64) []float64 {
	steps := []float64{scale, scale * math.Abs(c.conv.factor)}
	if n := len(r.t); slices.Contains(meanShown, c.channel) && r.t[n-1]-r.t[0] >= meanSlow*float64(n) {
		steps = append(steps, scale/10)
	}
	return steps
}

// wholeSpeed is the step of a road speed by the standard's request, km/h.
const wholeSpeed = 1.0

// meanOver returns of how many of its last values column i holds the mean, 0 where that is not so.
func (r *rowset) meanOver(i int) int {
	c := r.cols[i]
	t, y := r.samples(i)
	digit := lastDigit(y, c.conv, smoothedDigits)
	for _, step := range r.stepsOf(c, wholeSpeed) {
		if m := wholeSums(y, step, digit); m > 1 && steady(t, y, m, step) {
			return m
		}
	}
	return 0
}

// wholeSums returns the smallest number of values whose sum is whole steps, 1 where each is, 0 where none is.
func wholeSums(y []float64, step, digit float64) int {
	for m := 1; m <= drive.MostAveraged && float64(m)*digit <= meanDigits*step; m++ {
		if summed(y, step, digit, m) {
			return m
		}
	}
	return 0
}

// summed tells whether m times y is whole steps in rows that move, but for what digits leave.
func summed(y []float64, step, digit float64, m int) bool {
	moved, whole := 0.0, 0.0
	for i := 1; i < len(y); i++ {
		if math.Abs(y[i]-y[i-1]) <= digit {
			continue
		}
		moved++
		if sum := float64(m) * y[i] / step; math.Abs(sum-math.Round(sum)) <= 0.55*float64(m)*digit/step+1e-6 {
			whole++
		}
	}
	return moved >= meanMoved && whole >= meanWhole*moved
}

// steady tells whether what y is the mean of, m values each, keeps its place: rows of one kind bend by as much against their neighbours early as
// late, but for chance, and a car that stands goes not backwards. Where y is no such mean, its roundings add up, in each kind of rows other ones.
func steady(t, y []float64, m int, step float64) bool {
	sure, kept := false, true
	pieces(t, func(lo, hi int) {
		if hi-lo < meanSure {
			return
		}
		x := apartFrom(t[lo:hi], y[lo:hi], m, step)
		for k := range m {
			early, late := bendsOf(x[:len(x)/2], k, m), bendsOf(x[len(x)/2-len(x)/2%m:], k, m)
			both := slices.Concat(early, late)
			away := math.Abs(order.Median(early) - order.Median(late))
			for i := range both {
				both[i] = math.Abs(both[i])
			}
			chance := medianError * order.Median(both) * math.Sqrt(2/float64(len(both)/2))
			kept = kept && away <= meanJump*step+meanSigmas*chance
		}
		back := 0
		for _, v := range x {
			if v < -meanStands {
				back++
			}
		}
		kept = kept && float64(back) <= meanBack*float64(len(x))
		sure = true
	})
	return sure && kept
}

// bendsOf returns the second differences of x in every m-th row, k being the first.
func bendsOf(x []float64, k, m int) (bends []float64) {
	for i := k; i < len(x)-1; i += m {
		if i > 0 {
			bends = append(bends, x[i+1]-2*x[i]+x[i-1])
		}
	}
	return bends
}

// pieces visits the stretches of rows between gaps.
func pieces(t []float64, do func(lo, hi int)) {
	gap := meanGap * order.MedianStep(t)
	lo := 0
	for i := 1; i <= len(t); i++ {
		if i == len(t) || t[i]-t[i-1] > gap {
			do(lo, i)
			lo = i
		}
	}
}

// apartFrom returns the values whose means over the last m rows are y, in whole steps where a step is told; those of short pieces stay.
func apartFrom(t, y []float64, m int, step float64) []float64 {
	x := append([]float64(nil), y...)
	pieces(t, func(lo, hi int) {
		if hi-lo >= meanFew {
			apart(x[lo:hi], y[lo:hi], m, step)
		}
	})
	return x
}

// apart does so for one piece.
func apart(x, y []float64, m int, step float64) {
	sum := func(i int) float64 {
		s := float64(m) * y[i]
		if step > 0 {
			s = math.Round(s/step) * step
		}
		return s
	}
	for i := range m {
		x[i] = 0
	}
	for i := m; i < len(x); i++ {
		x[i] = x[i-m] + sum(i) - sum(i-1)
	}
	first := firstValues(x, m, sum(m-1))
	for i := range x {
		x[i] += first[i%m]
		if step > 0 {
			x[i] = math.Round(x[i]/step)*step + 0 // and no zero below zero
		}
	}
}

// firstValues returns the first m values of x, which is known but for them, from their sum: those with which rows of no kind stand off those
// beside them.
func firstValues(x []float64, m int, sum float64) []float64 {
	first := make([]float64, m)
	for k := 1; k < m; k++ {
		first[k] = first[k-1] - order.Median(risesOf(x, k, m))
	}
	last := first[m-1] - order.Median(risesOf(x, 0, m)) - first[0] // once around the circle the car's own rises add up
	for k := range first {
		first[k] -= last * float64(k) / float64(m)
	}
	for range meanRounds {
		for k := range m {
			off := (first[k] + order.Median(bendsOf(x, k, m))/-2) - (first[(k+m-1)%m]+first[(k+1)%m])/2
			first[k] -= off
		}
	}
	middle := 0.0
	for _, v := range first {
		middle += v / float64(m)
	}
	for k := range first {
		first[k] += sum/float64(m) - middle
	}
	return first
}

// risesOf returns by how much x rises to every m-th row, k being the first.
func risesOf(x []float64, k, m int) (rises []float64) {
	for i := k; i < len(x); i += m {
		if i > 0 {
			rises = append(rises, x[i]-x[i-1])
		}
	}
	return rises
}
