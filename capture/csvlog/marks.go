package csvlog

import (
	"math"
	"slices"

	"flywitness/drive"
	"flywitness/internal/order"
	"flywitness/internal/parts"
)

const (
	markRepeats = 3   // times that a mark for "no value" stands, at least
	markAbove   = 1.2 // times the largest other value
	markKinds   = 3   // different marks in a column, at most
)

// dropMarks leaves out numbers that stand for "no value": nines or ones in all digits or bits, far above everything else.
func (q *quantity) dropMarks() {
	c, v := q.col(), q.values()
	for range markKinds {
		most, next, n := math.Inf(-1), math.Inf(-1), 0
		_, top := order.Bounds(v)
		if raw := (top - c.conv.offset) / c.conv.factor; !isMark(raw) && !(isOnes(raw) && drive.IsRoadSpeed(c.channel) && q.stays(top)) {
			return // as most columns
		}
		for _, x := range v {
			switch {
			case x > most:
				most, next, n = x, most, 1
			case x == most:
				n++
			case x > next:
				next = x
			}
		}
		if n < markRepeats || !(most >= markAbove*next) {
			return
		}
		for k, x := range v {
			if x == most {
				v[k] = math.NaN()
			}
		}
		q.set.noteHoles(q.column)
		c.marks += n
	}
}

// sideMark is how far a number that stands for "no value" lies from all others, as a share of what the channel reaches. Saturated values lie among others.
const sideMark = 0.06

// comes is how often a number that a car can show comes and goes, at least, that is taken for a mark; or it lies so many times as far from the others.
const (
	comes   = 3
	farther = 3.0
)

// noValue are numbers that stand for "no value" in columns of any kind (common practice, no source): minus one, all bits of a byte, a word or half of one, and
// what is colder than a sensor. Beside them stand all nines, and what all zeros and all ones of the standard's request mean.
var noValue = []float64{-1, 127, 255, 511, 1023, 4095, 32767, 65535, 655.35, 6553.5, -32768, -273.15, -273, -255, -128, -127, -100, -99, -50, -40}

// dropSideMarks leaves such numbers out of the columns beside engine speed and road speed.
func (r *rowset) dropSideMarks() {
	for i, c := range r.cols {
		def, known := drive.Define(c.channel)
		switch {
		case !known || c.essential():
		case c.toggle:
			r.dropCodes(i)
		default:
			for range markKinds {
				if !r.dropSideMark(i, &def) {
					break
				}
			}
		}
	}
}

// dropSideMark leaves one such number out, the least or the greatest of a column; false where neither is one.
func (r *rowset) dropSideMark(i int, def *drive.Definition) bool {
	v := r.v[i]
	least, most := order.Bounds(v)
	for _, x := range []float64{least, most} {
		gap := sideMark * (def.High - def.Low)
		beyond := x < def.Low || x > def.High
		if (r.cols[i].standsForNothing(x, def) || x > def.High+gap) && liesApart(v, x, gap, beyond) {
			r.dropEqual(i, func(y float64) bool { return y == x })
			return true
		}
	}
	return false
}

// standsForNothing tells whether a value may be a mark of its column.
func (c *column) standsForNothing(x float64, def *drive.Definition) bool {
	raw := math.Round((x-c.conv.offset)/c.conv.factor*1e3) / 1e3
	if slices.Contains(noValue, raw) || isMark(math.Abs(raw)) {
		return true
	}
	ones := math.Exp2(8*float64(def.Request.Size))*def.Request.Scale - def.Request.Scale + def.Request.Offset
	return def.Unit != "%" && def.Request.Size > 0 && (math.Abs(x-ones) < 1e-6 || x == def.Request.Offset) || def.Low < 0 && def.Unit == "%" && (x == def.Request.Offset || x == ones)
}

// liesApart tells whether a value stands in several rows and far from all others, which come and go; that is enough where it cannot be.
func liesApart(v []float64, x, gap float64, cannotBe bool) bool {
	near, n, times := math.Inf(1), 0, 0
	before := false
	for _, y := range v {
		if math.IsNaN(y) {
			continue
		}
		if y == x {
			n++
			if !before {
				times++
			}
		} else {
			near = min(near, math.Abs(y-x))
		}
		before = y == x
	}
	switch {
	case n < markRepeats || math.IsInf(near, 1):
		return false
	case cannotBe && x < 0:
		return near >= math.Abs(x) // no other lies below nothing
	case cannotBe || times >= comes:
		return near >= gap
	}
	return near >= farther*gap
}

// dropCodes leaves numbers out of a switch that shows 0 and 1: control units write 2 and 3 for a fault and for what they do not have.
func (r *rowset) dropCodes(i int) {
	on := false
	for _, x := range r.v[i] {
		switch {
		case math.IsNaN(x) || x == 0:
		case x == 1:
			on = true
		case x != math.Trunc(x) || x > 3 && !isOnes(x):
			return
		}
	}
	if on && r.cols[i].channel == drive.ClutchSwitch {
		r.dropEqual(i, func(x float64) bool { return x != 0 && x != 1 })
	}
}

// isOnes tells whether a number is a byte or more of ones.
func isOnes(x float64) bool { return x == 255 || isMark(x) }

// dropEqual leaves values out of a column as marks.
func (r *rowset) dropEqual(i int, is func(x float64) bool) {
	n := 0
	for k, x := range r.v[i] {
		if !math.IsNaN(x) && is(x) {
			r.v[i][k] = math.NaN()
			n++
		}
	}
	if n > 0 {
		r.noteHoles(i)
		r.cols[i].marks += n
	}
}

// stays tells whether a column has one value for longer than a leap lasts (dropSpikes).
func (q *quantity) stays(x float64) bool {
	from := -1
	for k, y := range q.values() {
		switch {
		case y != x:
			from = -1
		case from < 0:
			from = k
		case math.Abs(q.set.t[k]-q.set.t[from]) > spikeTime:
			return true
		}
	}
	return false
}

// isMark tells whether a number is all nines, or all ones in more than eight bits: a byte of ones among road speeds is a leap (dropSpikes), or stays.
func isMark(x float64) bool {
	if x <= 255 || x > math.MaxUint32 || x != math.Trunc(x) {
		return false
	}
	n := uint64(x)
	for d := n; d > 0; d /= 10 {
		if d%10 != 9 {
			return n&(n+1) == 0
		}
	}
	return true
}

// noteHoles says that a column has rows without a value.
func (r *rowset) noteHoles(i int) {
	r.dense = nil
	if r.full != nil {
		r.full[i] = false
	}
}

// dropAbsurd leaves out the values that no car has.
func (r *rowset) dropAbsurd() {
	holes := make([]bool, len(r.cols))
	parts.Each(len(r.cols), 1, func(i, _ int) {
		if r.usable != nil && r.usable[i] && !r.cols[i].settled {
			return // none was read
		}
		lo, hi := r.cols[i].limits()
		if least, most := order.Bounds(r.v[i]); least >= lo && most <= hi {
			return
		}
		for k, x := range r.v[i] {
			if x < lo || x > hi {
				r.v[i][k], holes[i] = math.NaN(), true
			}
		}
	})
	for i, has := range holes {
		if has {
			r.noteHoles(i)
		}
	}
}
