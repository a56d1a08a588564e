package csvlog

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
)

// A logger may smooth what it reads before it writes it: y moves a share of its way to each new value x. That makes a delay, blurs what is
// short, and its errors last. But x was a whole number of the car's steps, and x = y + gain (y - y before) gives it back, to within what the digits
// of y leave: at one gain all x are whole, at any other, and in a signal that was not smoothed, they lie anywhere. A filter inside the control
// unit leaves no such mark: its steps come after it, and it is a delay like any other.
const (
	gainLeast, gainMost = 0.4, 60.0 // smoothing over less than a row changes nothing; over more, no digits are left
	turnMost            = 0.25      // of a step that x moves from one gain tried to the next, in the fastest of the rows
	slowRow             = 5.0       // steps that rows of the first search move, at most, where there are enough of them
	finer               = 4         // times faster are those of the next
	smoothedFew         = 200       // rows that move, at least
	smoothedMany        = 3200      // and no more are looked at
	smoothedSteps       = 12        // different values of x that they hold
	smoothedDigits      = 5         // after the point, and more are a computer's own
	digitsMost          = 0.2       // of a step that the digits of y leave x uncertain by; with more, chance makes x whole too often
	roundingSlack       = 0.02      // of a step, on top: a computer's own rounding
	wholeLeast          = 0.97      // of the rows give a whole x; the others are where the logger began anew
	ownSteps            = 0.5       // of the rows lie on whole steps before: not smoothed
)

// smoothing is how a channel was smoothed.
type smoothing struct {
	channel string
	over    float64 // s, its time constant
}

// unsmooth gives columns that the logger smoothed the values back that it read.
func (r *rowset) unsmooth() {
	for i, c := range r.cols {
		d, _ := drive.Define(c.channel)
		if d.Request.Scale == 0 || !slices.Contains(drawnChannels, c.channel) {
			continue
		}
		rows := finiteRows(r.v[i])
		y := at(r.v[i], rows)
		digit := lastDigit(y, c.conv, smoothedDigits)
		step := d.Request.Scale
		if gain := gainOf(y, step, digit); gain > 0 {
			fill(r.v[i], rows, unfiltered(y, step, gain, digit))
			pace := medianStep(slices.Clone(r.t[:min(len(r.t), digitSamples)]))
			r.smoothed = append(r.smoothed, smoothing{c.channel, gain * pace})
		}
	}
}

// fill puts values into rows of v; nil rows are all.
func fill(v []float64, rows []int, values []float64) {
	if rows == nil {
		copy(v, values)
		return
	}
	for n, k := range rows {
		v[k] = values[n]
	}
}

// gainOf returns the gain at which all values that y was smoothed from are whole steps, 0 where there is none. Slow rows find it about, fast ones
// to the digit.
func gainOf(y []float64, step, digit float64) float64 {
	m := movesOf(y, step, digit)
	digit /= step
	lo, hi := gainLeast, min(gainMost, digitsMost/digit-0.5)
	if len(m) < smoothedFew || lo >= hi || m.own(digit) >= ownSteps*float64(len(m)) {
		return 0
	}
	best := 0.0
	for fastest := max(slowRow, math.Abs(m[smoothedFew].d)); ; fastest *= finer {
		some := m.upTo(fastest)
		by := turnMost / fastest
		best = some.wholest(lo, hi, by)
		if len(some) > 0 && some[len(some)-1] == m[len(m)-1] {
			break
		}
		lo, hi = max(gainLeast, best-2*by), best+2*by
	}
	if !m.whole(best, digit) {
		return 0
	}
	return best
}

// move is a row in which y moves, in steps.
type move struct{ y, d float64 }

type moves []move

// movesOf returns the rows in which y moves, the slow ones first.
func movesOf(y []float64, step, digit float64) moves {
	var m moves
	for i := 1; i < len(y) && len(m) < smoothedMany; i++ {
		if d := y[i] - y[i-1]; math.Abs(d) > digit {
			m = append(m, move{y[i] / step, d / step})
		}
	}
	slices.SortFunc(m, func(a, b move) int { return cmp.Compare(math.Abs(a.d), math.Abs(b.d)) })
	return m
}

// upTo returns the fastest of the rows that move by no more than fastest.
func (m moves) upTo(fastest float64) moves {
	n, _ := slices.BinarySearchFunc(m, fastest, func(x move, most float64) int { return cmp.Compare(math.Abs(x.d), most) })
	return m[max(0, n-2*smoothedFew):n]
}

// wholest returns the gain between lo and hi, in steps of by, at which most of x is whole.
func (m moves) wholest(lo, hi, by float64) float64 {
	best, most := lo, 0.0
	for g := lo; g <= hi; g += by {
		sum := 0.0
		for _, x := range m {
			sum += math.Cos(2 * math.Pi * (x.y + g*x.d))
		}
		if sum > most {
			best, most = g, sum
		}
	}
	return best
}

// whole tells whether x is whole at a gain in so many rows that it cannot be chance. digit is that of y, in steps.
func (m moves) whole(gain, digit float64) bool {
	slack := (0.5+gain)*digit + roundingSlack
	if slack > digitsMost {
		return false
	}
	whole := 0
	seen := map[float64]bool{}
	for _, x := range m {
		v := x.y + gain*x.d
		if math.Abs(v-math.Round(v)) <= slack {
			whole++
			if len(seen) < smoothedSteps {
				seen[math.Round(v)] = true
			}
		}
	}
	return float64(whole) >= wholeLeast*float64(len(m)) && len(seen) >= smoothedSteps
}

// own counts the rows in which y itself is whole.
func (m moves) own(digit float64) (n float64) {
	for _, x := range m {
		if math.Abs(x.y-math.Round(x.y)) <= digit {
			n++
		}
	}
	return n
}

// unfiltered returns the whole steps that y was smoothed from; NaN where there is none.
func unfiltered(y []float64, step, gain, digit float64) []float64 {
	slack := (0.5+gain)*digit/step + roundingSlack
	x := make([]float64, len(y))
	for i := range y {
		v := y[i] / step
		if i > 0 {
			v += gain * (y[i] - y[i-1]) / step
		}
		if x[i] = math.Round(v) * step; math.Abs(v-math.Round(v)) > slack {
			x[i] = math.NaN()
		}
	}
	return x
}

// describeSmoothed tells in one line what was smoothed.
func describeSmoothed(l *drive.Log, sets []*rowset) {
	var names []string
	over := 0.0
	for _, r := range sets {
		for _, s := range r.smoothed {
			names = append(names, s.channel)
			over = max(over, s.over)
		}
	}
	if len(names) > 0 {
		l.Warnings = append(l.Warnings, finding.New(finding.SmoothedValues, finding.Name("file", l.Path), finding.Name("channels", strings.Join(names, ", ")),
			finding.Duration("over", over)))
	}
}
