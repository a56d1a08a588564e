package csvlog

import (
	"math"

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
		if _, top := order.Bounds(v); !isMark((top - c.conv.offset) / c.conv.factor) {
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

// isMark tells whether a number is all nines, or all ones in more than eight bits: a byte of ones among road speeds is a leap (dropSpikes).
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
