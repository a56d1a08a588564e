package csvlog

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/order"
)

// A logger may smooth what it reads before it writes it: y moves a share of its way to each new value x. That makes a delay, blurs what is
// short, and its errors last. But x was a whole number of the car's steps, and x = y + gain (y - y before) gives it back, to within what the digits
// of y leave: at one gain all x are whole, at any other, and in a signal that was not smoothed, they lie anywhere. A filter inside the control
// unit leaves no such mark: its steps come after it, and it is a delay like any other.
const (
	gainLeast, gainMost = 0.4, 60.0 // smoothing over less than a row changes nothing; over more, no digits are left
	turnMost            = 0.25      // of a step that x moves from one gain tried to the next, in the fastest of the rows
	fastRow             = 60.0      // steps: where no rows are slower, the gain cannot be looked for
	nearRow             = 1000.0    // steps that rows move, at most, of which a known gain is told
	slowRow             = 5.0       // steps that rows of the first search move, at most, where there are enough of them
	finer               = 4         // times faster are those of the next
	smoothedFew         = 200       // rows that move, at least
	smoothedMany        = 3200      // and no more are looked at,
	smoothedAll         = 20000     // or than these about a gain that another column has
	smoothedDigits      = 5         // after the point, and more are a computer's own
	wholenessLeast      = 0.05      // that the digits of y leave; with fewer, nothing can be told
	wholenessShare      = 0.7       // of what they leave is there
	wholenessSure       = 8.0       // standard deviations above what chance gives, of the thousands of gains that are tried
	wholenessLikely     = 5.0       // the same, of a thousand about a gain that another column has
	sameGain            = 0.002     // of a gain, within which another column's is the same
	ownSteps            = 0.5       // of the rows lie on whole steps before: not smoothed
	snapMost            = 0.2       // of a step: with digits that leave more, x is not moved to a whole step
)

// smoothing is how a channel was smoothed.
type smoothing struct {
	channel string
	over    float64 // s, its time constant
}

// unsmooth gives columns that the logger smoothed the values back that it read. Where the digits of one are too few to find its gain, that of another
// may be its own.
func (r *rowset) unsmooth() {
	var gains []float64
	var left []int
	for i, c := range r.cols {
		if d, _ := drive.Define(c.channel); d.Request.Scale == 0 || !slices.Contains(drawnChannels, c.channel) {
			continue
		}
		if gain := r.unsmoothColumn(i, smoothedMany, gainOf); gain > 0 {
			gains = append(gains, gain)
		} else {
			left = append(left, i)
		}
	}
	for _, i := range left {
		for _, about := range gains {
			if r.unsmoothColumn(i, smoothedAll, func(m moves, digit float64) float64 { return gainNear(m, digit, about) }) > 0 {
				break
			}
		}
	}
}

// unsmoothColumn puts column i right where find finds a gain in many of its rows. It returns the gain, else 0.
func (r *rowset) unsmoothColumn(i, many int, find func(m moves, digit float64) float64) float64 {
	c := r.cols[i]
	d, _ := drive.Define(c.channel)
	step := d.Request.Scale
	_, y := r.samples(i)
	digit := lastDigit(y, c.conv, smoothedDigits)
	m := movesOf(y, step, digit, many)
	if len(m) < smoothedFew || m.own(digit/step) >= ownSteps*float64(len(m)) || wholeSums(y, step, digit) > 1 {
		return 0
	}
	gain := find(m, digit/step)
	if gain == 0 {
		return 0
	}
	r.fill(i, unfiltered(y, step, gain, digit))
	pace := order.MedianStep(r.t[:min(len(r.t), digitSamples)])
	r.smoothed = append(r.smoothed, smoothing{c.channel, gain * pace})
	return gain
}

// fill puts values into the rows of column i that have one.
func (r *rowset) fill(i int, values []float64) {
	r.dense = nil
	rows := r.finiteRows(i)
	if rows == nil {
		copy(r.v[i], values)
		return
	}
	for n, k := range rows {
		r.v[i][k] = values[n]
	}
}

// gainOf returns the gain at which all values that y was smoothed from are whole steps, 0 where there is none. Slow rows find it about, fast ones
// to the digit.
func gainOf(m moves, digit float64) float64 {
	lo, hi := gainLeast, gainBound(digit)
	if lo >= hi || math.Abs(m[smoothedFew-1].d) > fastRow {
		return 0
	}
	best := 0.0
	for fastest := max(slowRow, math.Abs(m[smoothedFew-1].d)); ; fastest *= finer {
		some := m.upTo(fastest)
		by := turnMost / fastest
		best = some.wholest(lo, hi, by)
		if len(some) > 0 && some[len(some)-1] == m[len(m)-1] {
			break
		}
		lo, hi = max(gainLeast, best-2*by), best+2*by
	}
	return m.sure(best, digit, wholenessSure)
}

// gainNear returns the same within a small part of a gain that is known from elsewhere.
func gainNear(m moves, digit, about float64) float64 {
	n, _ := slices.BinarySearchFunc(m, nearRow, slower)
	if n < smoothedFew {
		return 0
	}
	m = m[:n]
	return m.sure(m.wholest(about*(1-sameGain), about*(1+sameGain), turnMost/math.Abs(m[n-1].d)), digit, wholenessLikely)
}

// sure returns a gain if x is as whole at it as the digits of y let it be, and by so many standard deviations more than chance makes it, else 0.
func (m moves) sure(gain, digit, deviations float64) float64 {
	wholeness := m.wholeness(gain)
	left := leftBy(digit, gain)
	if digit*(1+gain) >= 1 || left < wholenessLeast || wholeness < wholenessShare*left || wholeness*math.Sqrt(2*m.steps()) < deviations {
		return 0
	}
	return gain
}

// leftBy is the wholeness of whole x when y is rounded to a digit, in steps: two roundings, spread evenly, go into each x.
func leftBy(digit, gain float64) float64 { return spreadBy(digit*(1+gain)) * spreadBy(digit*gain) }

// spreadBy is the wholeness of whole numbers that are spread evenly over a width.
func spreadBy(width float64) float64 { return math.Sin(math.Pi*width) / (math.Pi * width) }

// gainBound is the gain up to which digits leave enough to tell.
func gainBound(digit float64) float64 {
	gain := gainLeast
	for gain < gainMost && digit*(1+gain) < 1 && leftBy(digit, gain) > wholenessLeast {
		gain += 0.5
	}
	return gain
}

// move is a row in which y moves, in steps.
type move struct{ y, d float64 }

type moves []move

// movesOf returns so many of the rows in which y moves, the slow ones first.
func movesOf(y []float64, step, digit float64, many int) moves {
	var m moves
	for i := 1; i < len(y) && len(m) < many; i++ {
		if d := y[i] - y[i-1]; math.Abs(d) > digit {
			m = append(m, move{y[i] / step, d / step})
		}
	}
	slices.SortFunc(m, func(a, b move) int { return cmp.Compare(math.Abs(a.d), math.Abs(b.d)) })
	return m
}

// slower compares how fast a row moves with a number of steps.
func slower(x move, steps float64) int { return cmp.Compare(math.Abs(x.d), steps) }

// upTo returns the fastest of the rows that move by no more than fastest.
func (m moves) upTo(fastest float64) moves {
	n, _ := slices.BinarySearchFunc(m, fastest, slower)
	return m[max(0, n-2*smoothedFew):n]
}

// wholest returns the gain between lo and hi, in steps of by, at which x is most nearly whole.
func (m moves) wholest(lo, hi, by float64) float64 {
	best, most := lo, 0.0
	for g := lo; g <= hi; g += by {
		if w := m.wholeness(g); w > most {
			best, most = g, w
		}
	}
	return best
}

// wholeness is 1 where all x are whole and about 0 where they lie anywhere.
func (m moves) wholeness(gain float64) float64 {
	sum := 0.0
	for _, x := range m {
		sum += math.Cos(2 * math.Pi * (x.y + gain*x.d))
	}
	return sum / float64(len(m))
}

// steps is how many of the rows tell each for itself: a slow signal says in many rows what it says in one step.
func (m moves) steps() float64 {
	sum := 0.0
	for _, x := range m {
		sum += min(1, math.Abs(x.d))
	}
	return sum / 2
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

// unfiltered returns what y was smoothed from. Where the digits of y do not tell which whole step that was, a value that is the one before but for
// them is held, so that a reply that was smoothed over several rows stays one.
func unfiltered(y []float64, step, gain, digit float64) []float64 {
	slack := (0.5 + gain) * digit
	x := slices.Clone(y)
	for i := range y {
		if i > 0 {
			x[i] += gain * (y[i] - y[i-1])
		}
		switch {
		case i > 0 && y[i] == y[i-1]: // it stands still at x, or the logger repeats itself
			x[i] = x[i-1]
		case slack <= snapMost*step:
			x[i] = math.Round(x[i]/step) * step
		case i > 0 && math.Abs(x[i]-x[i-1]) <= 2*slack:
			x[i] = x[i-1]
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
