package csvlog

import (
	"math"
	"slices"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/order"
	"flywitness/internal/parts"
)

// A logger that writes all channels on one even clock may draw straight lines between the replies of the car: twenty rows a second, of
// which one was read. The rows in between are no measurements, they add neither resolution nor certainty. Their mark: a value lies on the
// line between its neighbours to the last digit, row after row, and then the line bends in one row, or in two where the reply fell
// between them. A measured signal bends everywhere or, where its digits are too coarse to tell, nowhere but at its sharpest turns. What lies between
// two of those is no line as a whole: over n rows a curve leaves its chord by n²/4 times what it leaves the line between two neighbours by.
const (
	straightRows   = 2    // that lie on the line on either side of a bend
	bendRows       = 2    // of one bend, at most
	leastBends     = 20   // that tell
	bendShare      = 0.8  // of all rows off the line that are such bends
	leastDrawn     = 4    // rows from one reply to the next; of fewer, too few lie on a line to know
	intervalSpread = 1.6  // times the usual shortest distance of bends is one interval, and two are more
	steepSteps     = 3    // last digits that a line moves from row to row: a flatter one says nothing
	steepShare     = 0.5  // of the bends have a steep line beside them
	lineRows       = 3    // from one bend to the next, at least,
	lineSteps      = 6    // and last digits that it moves on the way: shorter and flatter stretches say nothing
	leastLines     = 10   // stretches that tell
	mostOnLine     = 8    // replies in a row that lie on one line by chance, where it moves at all
	lineShare      = 0.8  // of them are lines as a whole; of a measured signal fewer than half are
	crowdedEnough  = 400  // rows off the line, most of them in longer stretches: a measured signal
	paceMost       = 3.5  // intervals from bend to bend that a pace shows in: over more, what each reply is early or late by adds up
	offPace        = 0.25 // of an interval from a whole number of them, at most: half of all distances are as near by chance,
	paceShare      = 0.9  // and so many where a logger asks at its pace
	paceFew        = 4    // distances that tell
)

// Digits.
const (
	roundedBy    = 1.01 // digits that rounding moves a value off a line by, at most
	mostDigits   = 3    // after the point, and more are taken for the computer's own
	floatDigits  = 5e-7
	digitSamples = 2000 // values that tell how many digits are written
	timeGrain    = 1e-6 // s, the last digit of times that is looked at
	evenShare    = 0.9  // of the steps of times are the usual one: they stand where they should, and no rounding moved them
)

// drawn is a channel that holds lines between replies.
type drawn struct {
	channel string
	every   float64 // s from one reply to the next
	replies int
}

// bend is a stretch of rows [lo, hi) off the line between their neighbours; at is the row farthest off.
type bend struct{ lo, hi, at int }

// replies marks, in the columns that are lines between replies, the rows that stand for one. The logger that draws engine speed or the car's own road
// speed, which never run straight by themselves, draws all that it asks the car for. A foot may run straight, and a satellite receiver is another device.
func (r *rowset) replies(fresh [][]bool) {
	if r.rowsAreReplies() {
		return
	}
	lead := -1       // engine speed, else road speed, that is drawn
	var unsure []int // columns that tell nothing themselves
	for _, s := range r.lines(fresh) {
		i, channel, x, p := s.column, r.cols[s.column].channel, s.trace, s.polyline
		if p.kept == nil && len(r.drawn) > 0 {
			// The logger draws lines. Between whole numbers a line may need no rounding, and its digits look coarse.
			fine := x
			fine.digit = floatDigits * math.Abs(r.cols[i].conv.factor)
			if q := fine.polyline(); q.kept != nil {
				p = q
			}
		}
		switch {
		case p.kept != nil && lead < 0 && (channel == drive.Pedal || channel == drive.Throttle) && !x.paced(p):
		case p.kept != nil:
			fresh[i] = r.keepReplies(i, x, p)
			r.drawn = append(r.drawn, drawn{channel, p.every, len(p.kept)})
			if lead < 0 && (channel == drive.EngineSpeed || channel == drive.VehicleSpeed) {
				lead = i
			}
		case !p.crowded && channel != drive.GPSSpeed:
			unsure = append(unsure, i)
		}
	}
	if lead < 0 {
		return
	}
	like := r.drawn[slices.IndexFunc(r.drawn, func(d drawn) bool { return d.channel == r.cols[lead].channel })]
	for _, i := range unsure { // it was asked for as often
		fresh[i] = slices.Clone(fresh[lead])
		like.channel = r.cols[i].channel
		r.drawn = append(r.drawn, like)
	}
}

// rowsAreReplies tells whether most rows carry the value of one column alone: whoever draws lines between replies fills every row with them, so such a
// row was written when a reply came.
func (r *rowset) rowsAreReplies() bool {
	values := 0
	for i := range r.cols {
		values += r.count(i, nil, 0, len(r.t))
	}
	return len(r.cols) > 1 && 2*values < 3*len(r.t)
}

// shape is a column and what it shows.
type shape struct {
	column int
	trace
	polyline
}

// lines are the columns that may be lines between replies, with what each shows.
func (r *rowset) lines(fresh [][]bool) (out []shape) {
	tick := tickOf(r.t)
	for _, channel := range drawnChannels {
		if i := r.column(channel); i >= 0 && fresh[i] == nil {
			out = append(out, shape{column: i, trace: r.trace(i, tick)})
		}
	}
	parts.Each(len(out), 1, func(k, _ int) {
		out[k].polyline = out[k].trace.polyline()
	})
	return out
}

// keepReplies leaves the values of the replies in column i, and returns their rows.
func (r *rowset) keepReplies(i int, x trace, p polyline) []bool {
	rows := r.finiteRows(i)
	kept, values := p.kept, at(x.v, p.kept)
	if step := math.Abs(r.cols[i].conv.factor); drive.IsRoadSpeed(r.cols[i].channel) && wholeSteps(x.t, x.v, p.bends, step) {
		kept, values = onSteps(x.t, x.v, p.bends, kept, step)
	}
	fresh := make([]bool, len(r.t))
	for n, k := range kept {
		if rows != nil {
			k = rows[k]
		}
		fresh[k], r.v[i][k] = true, values[n]
	}
	return fresh
}

// drawnChannels are those whose rate and noise the analysis goes by, the telling ones first.
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

// at returns the values of v in rows.
func at(v []float64, rows []int) []float64 {
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

// trace is a channel as it was written.
type trace struct {
	t, v  []float64
	digit float64 // what the last digit of the values stands for
	tick  float64 // s, the same of times that were rounded; 0 of even ones
}

// trace is column i as it was written, its times to a tick.
func (r *rowset) trace(i int, tick float64) trace {
	x := trace{tick: tick}
	x.t, x.v = r.samples(i)
	x.digit = lastDigit(x.v, r.cols[i].conv, mostDigits)
	return x
}

// tickOf returns what the last digit of times stands for, at least a microsecond; 0 where they stand at even steps, which no rounding moved.
func tickOf(t []float64) float64 {
	t = t[:min(len(t), digitSamples)]
	if len(t) < 2 {
		return 0
	}
	step := order.MedianStep(t)
	tick, even := 1.0, 0
	for i := 1; i < len(t); i++ {
		if math.Abs(t[i]-t[i-1]-step) <= timeGrain {
			even++
		}
		for tick > timeGrain && math.Abs(t[i]-t[0]-tick*math.Round((t[i]-t[0])/tick)) > timeGrain {
			tick /= 10
		}
	}
	if float64(even) >= evenShare*float64(len(t)-1) {
		return 0
	}
	return tick
}

// off is how far value k lies off the line between values i and j, beyond what rounding explains: that of three values moves the middle one by one
// digit at most, that of three times by as much as the line moves in a tick. It is not positive on the line.
func (x trace) off(i, k, j int) float64 {
	whole := x.t[j] - x.t[i]
	if whole <= 0 {
		return 0
	}
	slope := (x.v[j] - x.v[i]) / whole
	return math.Abs(x.v[k]-x.v[i]-slope*(x.t[k]-x.t[i])) - roundedBy*(x.digit+math.Abs(slope)*x.tick)
}

// polyline is what a channel of straight lines shows.
type polyline struct {
	kept    []int // the samples that stand for a reply of the car; nil where samples are what was measured, or do not tell
	bends   []bend
	every   float64 // s from one reply to the next
	rows    float64 // the same in rows
	crowded bool    // it bends everywhere: it was measured
}

// polyline finds the lines of a channel.
func (x trace) polyline() (p polyline) {
	if p.bends, p.crowded = x.bends(); len(p.bends) < leastBends {
		return p
	}
	var apart []float64
	for i := 1; i < len(p.bends); i++ {
		apart = append(apart, float64(p.bends[i].at-p.bends[i-1].at))
	}
	slices.Sort(apart)
	rows := usualApart(apart)
	p.rows = rows
	if rows < leastDrawn || !x.straight(p.bends, oneInterval(apart)) {
		return p
	}
	p.every = rows * order.MedianStep(x.t[:min(len(x.t), digitSamples)])
	p.kept = []int{0}
	last := bend{}
	for _, to := range append(p.bends, bend{at: len(x.v) - 1, lo: len(x.v)}) {
		pieces := max(1, int(math.Round(float64(to.at-last.at)/rows)))
		if lo, hi := last.hi, to.lo-1; pieces > mostOnLine && math.Abs(x.v[hi]-x.v[lo]) > float64(pieces)*lineSteps*x.digit && x.line(lo, hi) {
			pieces = 1 // the recording paused: nothing was read on the way
		}
		for k := 1; k <= pieces; k++ {
			if i := last.at + (to.at-last.at)*k/pieces; i > p.kept[len(p.kept)-1] {
				p.kept = append(p.kept, i)
			}
		}
		last = to
	}
	return p
}

// straight tells whether the stretches of one interval that move at all are lines as a whole.
func (x trace) straight(bends []bend, interval float64) bool {
	lines, moving := 0, 0
	for n := 1; n < len(bends); n++ {
		lo, hi := bends[n-1].hi, bends[n].lo-1
		if hi-lo < lineRows || float64(bends[n].at-bends[n-1].at) > interval || math.Abs(x.v[hi]-x.v[lo]) < lineSteps*x.digit {
			continue
		}
		moving++
		if x.line(lo, hi) {
			lines++
		}
	}
	return moving >= leastLines && float64(lines) >= lineShare*float64(moving)
}

// paced tells whether the bends of a foot stand a whole number of intervals apart, both where it moves and where it rests.
func (x trace) paced(p polyline) bool {
	var near, all [2]float64
	for n := 1; n < len(p.bends); n++ {
		from, to := p.bends[n-1], p.bends[n]
		apart := float64(to.at-from.at) / p.rows
		if apart > paceMost {
			continue
		}
		rests := 0
		if math.Abs(x.v[to.lo-1]-x.v[from.hi]) <= x.digit {
			rests = 1
		}
		all[rests]++
		if math.Abs(apart-math.Round(apart)) <= offPace {
			near[rests]++
		}
	}
	on := func(k int) bool { return all[k] < paceFew || near[k] >= paceShare*all[k] }
	return on(0) && on(1)
}

// line tells whether all values between lo and hi lie on the line from the one to the other.
func (x trace) line(lo, hi int) bool {
	for i := lo + 1; i < hi; i++ {
		if x.off(lo, i, hi) > 0 {
			return false
		}
	}
	return true
}

// oneInterval is how many rows lie from one reply to the next at most. A line goes on through a reply now and then: two intervals and more between
// bends do not count. The distances are sorted.
func oneInterval(apart []float64) float64 { return intervalSpread * apart[len(apart)/5] }

// usualApart is how many rows lie from one reply to the next. The distances are sorted.
func usualApart(apart []float64) float64 {
	sum, n := 0.0, 0
	for _, d := range apart {
		if d <= oneInterval(apart) {
			sum, n = sum+d, n+1
		}
	}
	return sum / float64(n)
}

// bends returns the places where a signal of straight lines bends, nil for any other signal; crowded tells that it bends everywhere.
func (x trace) bends() (apart []bend, crowded bool) {
	var bends []bend
	off, single := 0, 0 // rows off the line, and those of them in short stretches
	for i := 1; i+1 < len(x.v); i++ {
		if math.Abs(x.v[i]-x.v[i-1]) <= x.digit && math.Abs(x.v[i+1]-x.v[i]) <= x.digit {
			continue // as most rows of a coarse signal: rounding explains more
		}
		by := x.off(i-1, i, i+1)
		if by <= 0 {
			continue
		}
		b, most := bend{i, i + 1, i}, by
		for ; b.hi+1 < len(x.v); b.hi++ {
			if by = x.off(b.hi-1, b.hi, b.hi+1); by <= 0 {
				break
			}
			if by > most {
				b.at, most = b.hi, by
			}
		}
		i = b.hi
		off += b.hi - b.lo
		if b.hi-b.lo <= bendRows {
			single += b.hi - b.lo
			bends = append(bends, b)
		}
		if off > crowdedEnough && single < off/2 {
			return nil, true
		}
	}
	apart = alone(bends)
	rows, steeps := 0, 0
	for _, b := range apart {
		rows += b.hi - b.lo
		if x.steep(b.lo-1) || x.steep(b.hi) {
			steeps++
		}
	}
	if float64(rows) < bendShare*float64(off) || float64(steeps) < steepShare*float64(len(apart)) {
		return nil, off > leastBends && single < off/2
	}
	return apart, false
}

// steep tells whether the line through value i moves on by more than its digits hide.
func (x trace) steep(i int) bool {
	return i > 0 && i+1 < len(x.v) && math.Abs(x.v[i+1]-x.v[i-1]) > 2*steepSteps*x.digit
}

// alone returns the bends with straight rows on either side.
func alone(bends []bend) []bend {
	out := bends[:0:0]
	for k, b := range bends {
		if (k == 0 || b.lo-bends[k-1].hi >= straightRows) && (k+1 == len(bends) || bends[k+1].lo-b.hi >= straightRows) {
			out = append(out, b)
		}
	}
	return out
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
