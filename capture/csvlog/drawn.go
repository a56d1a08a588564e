package csvlog

import (
	"math"
	"slices"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/order"
)

// A logger that writes all channels on one even clock may draw straight lines between the replies of the car: twenty rows a second, of
// which one was read. The rows in between are no measurements, they add neither resolution nor certainty. Their mark: a value lies on the
// line between its neighbours to the last digit, row after row, and then the line bends in one row, or in two where the reply fell
// between them. A measured signal bends everywhere or, where its digits are too coarse to tell, nowhere.
const (
	straightRows  = 2   // that lie on the line on either side of a bend
	bendRows      = 2   // of one bend, at most
	leastBends    = 20  // that tell
	bendShare     = 0.8 // of all rows off the line that are such bends
	leastDrawn    = 4   // rows from one reply to the next; of fewer, too few lie on a line to know
	steepSteps    = 3   // last digits that a line moves from row to row: a flatter one says nothing
	steepShare    = 0.5 // of the bends have a steep line beside them
	crowdedEnough = 400 // rows off the line, most of them in longer stretches: a measured signal
	mostDigits    = 3   // after the point, and more are taken for the computer's own
	floatDigits   = 5e-7
	digitSamples  = 2000 // values that tell how many digits are written
)

// drawn is a channel that holds lines between replies.
type drawn struct {
	channel string
	every   float64 // s from one reply to the next
	replies int
}

// bend is a stretch of rows [lo, hi) off the line between their neighbours; at is the row farthest off.
type bend struct{ lo, hi, at int }

// replies marks, in the columns that are lines between replies, the rows that stand for one.
func (r *rowset) replies(fresh [][]bool) {
	first := max(0, r.column(drive.EngineSpeed))
	for k := range r.cols {
		i := (first + k) % len(r.cols) // engine speed tells best
		c := r.cols[i]
		if fresh[i] != nil || !slices.Contains(drawnChannels, c.channel) {
			continue
		}
		rows := r.finiteRows(i)
		t, v := at(r.t, rows), at(r.v[i], rows)
		kept, bends, every := repliesOf(t, v, lastDigit(v, c.conv, mostDigits))
		if kept == nil && len(r.drawn) > 0 {
			// The logger draws lines. Between whole numbers a line may need no rounding, and its digits look coarse.
			kept, bends, every = repliesOf(t, v, floatDigits*math.Abs(c.conv.factor))
		}
		if kept == nil {
			continue
		}
		values := at(v, kept)
		if step := math.Abs(c.conv.factor); isSpeed(c.channel) && wholeSteps(t, v, bends, step) {
			kept, values = onSteps(t, v, bends, kept, step)
		}
		fresh[i] = make([]bool, len(r.t))
		for n, k := range kept {
			if rows != nil {
				k = rows[k]
			}
			fresh[i][k], r.v[i][k] = true, values[n]
		}
		r.drawn = append(r.drawn, drawn{c.channel, every, len(kept)})
	}
}

// drawnChannels are those whose rate and noise the analysis goes by.
var drawnChannels = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.GPSSpeed, drive.UndrivenSpeed, drive.EngineLoad,
	drive.EngineTorque, drive.DemandedTorque, drive.IntakePressure, drive.Pedal, drive.Throttle}

// finiteRows returns the rows in which column i has a value, nil for all.
func (r *rowset) finiteRows(i int) []int {
	if r.whole(i) {
		return nil
	}
	out := make([]int, 0, len(r.t))
	for k, x := range r.v[i] {
		if !math.IsNaN(x) {
			out = append(out, k)
		}
	}
	return out
}

// at returns the values of v in rows; nil rows are all.
func at(v []float64, rows []int) []float64 {
	if rows == nil {
		return v
	}
	out := make([]float64, len(rows))
	for i, k := range rows {
		out[i] = v[k]
	}
	return out
}

// lastDigit is what the last digit of the values stands for as they were written, in the channel's unit; more digits than most are a computer's own.
func lastDigit(v []float64, conv conversion, mostDigits int) float64 {
	unit, digits, most := 1.0, 0, 0.0
	for i := 0; i < len(v); i += 1 + len(v)/digitSamples {
		written := (v[i] - conv.offset) / conv.factor
		most = max(most, math.Abs(v[i]))
		for digits <= mostDigits && math.Abs(written/unit-math.Round(written/unit)) > 1e-4 {
			unit /= 10
			digits++
		}
	}
	if digits > mostDigits {
		return floatDigits * most
	}
	return unit * math.Abs(conv.factor)
}

// repliesOf returns the samples that stand for a reply of the car, and how far (s) these lie apart; nil where samples are what was measured.
func repliesOf(t, v []float64, digit float64) (kept []int, bends []bend, every float64) {
	bends = bendsOf(t, v, digit)
	if len(bends) < leastBends {
		return nil, nil, 0
	}
	var apart, steps []float64
	for i := 1; i < len(bends); i++ {
		apart = append(apart, float64(bends[i].at-bends[i-1].at))
	}
	slices.Sort(apart)
	rows := usualApart(apart)
	if rows < leastDrawn {
		return nil, nil, 0
	}
	last := 0
	kept = append(kept, 0)
	for _, to := range append(bends, bend{at: len(v) - 1}) {
		pieces := max(1, int(math.Round(float64(to.at-last)/rows)))
		for k := 1; k <= pieces; k++ {
			if i := last + (to.at-last)*k/pieces; i > kept[len(kept)-1] {
				kept = append(kept, i)
			}
		}
		last = to.at
	}
	for i := 1; i < len(t) && i < digitSamples; i++ {
		steps = append(steps, t[i]-t[i-1])
	}
	return kept, bends, rows * order.Median(steps)
}

// usualApart is how many rows lie from one reply to the next. A line goes on through a reply now and then: two intervals and more
// between bends do not count. The distances are sorted.
func usualApart(apart []float64) float64 {
	short := apart[len(apart)/5]
	sum, n := 0.0, 0
	for _, d := range apart {
		if d <= 1.6*short {
			sum, n = sum+d, n+1
		}
	}
	return sum / float64(n)
}

// bendsOf returns the places where a signal of straight lines bends, nil for any other signal.
func bendsOf(t, v []float64, digit float64) []bend {
	// The rounding of three values moves the middle one off the line by one digit at most.
	slack := 1.01 * digit
	steep := func(i int) bool { return i > 0 && i+1 < len(v) && math.Abs(v[i+1]-v[i-1]) > 2*steepSteps*digit }
	var bends []bend
	off, single := 0, 0 // rows off the line, and those of them in short stretches
	for i := 1; i+1 < len(v); i++ {
		x := offLine(t, v, i)
		if x <= slack {
			continue
		}
		b, most := bend{i, i + 1, i}, x
		for ; b.hi+1 < len(v); b.hi++ {
			if x = offLine(t, v, b.hi); x <= slack {
				break
			}
			if x > most {
				b.at, most = b.hi, x
			}
		}
		i = b.hi
		off += b.hi - b.lo
		if b.hi-b.lo <= bendRows {
			single += b.hi - b.lo
			bends = append(bends, b)
		}
		if off > crowdedEnough && single < off/2 {
			return nil
		}
	}
	apart := bends[:0:0]
	rows, steeps := 0, 0
	for k, b := range bends {
		alone := (k == 0 || b.lo-bends[k-1].hi >= straightRows) && (k+1 == len(bends) || bends[k+1].lo-b.hi >= straightRows)
		if !alone {
			continue
		}
		apart = append(apart, b)
		rows += b.hi - b.lo
		if steep(b.lo-1) || steep(b.hi) {
			steeps++
		}
	}
	if float64(rows) < bendShare*float64(off) || float64(steeps) < steepShare*float64(len(apart)) {
		return nil
	}
	return apart
}

// offLine is how far value i lies off the line between its neighbours.
func offLine(t, v []float64, i int) float64 {
	whole := t[i+1] - t[i-1]
	if whole <= 0 {
		return 0
	}
	return math.Abs(v[i] - v[i-1] - (v[i+1]-v[i-1])*(t[i]-t[i-1])/whole)
}

// describeDrawn tells in one line what holds lines instead of measurements.
func describeDrawn(l *drive.Log, sets []*rowset) {
	var names []string
	var worst drawn
	for _, r := range sets {
		for _, d := range r.drawn {
			names = append(names, d.channel)
			if d.every > worst.every {
				worst = d
			}
		}
	}
	if len(names) > 0 {
		l.Warnings = append(l.Warnings, finding.New(finding.DrawnLines, finding.Name("file", l.Path), finding.Name("channels", strings.Join(names, ", ")),
			finding.Duration("every", worst.every), finding.Count("replies", worst.replies), finding.Count("rows", l.Rows)))
	}
}
