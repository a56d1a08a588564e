package detect

import (
	"slices"

	"flywitness/analysis/gearstate"
)

// A gear that the car was hardly driven in is not learnt: a pull in it departs from the next taller one.

// findUnlearnt marks the samples that hold a ratio outside the ladder, one that no clutch holds for long, unless
// it was gone over to from a locked gear without a break of force. Beside a complete ladder the car has no other
// gear.
func (r *Record) findUnlearnt() {
	t := r.Track
	r.unlearnt = nil
	if t.Model.Complete {
		return
	}
	r.unlearnt = make([]bool, t.Len())
	held := slices.DeleteFunc(t.HeldRatios(), func(h gearstate.Held) bool {
		return !gearstate.BeyondSlip(h.K, t.Model.Taller(h.K))
	})
	if len(held) == 0 {
		return
	}
	look := r.sight()
	for _, h := range held {
		if !r.wentOver(h, look) {
			for i := h.Lo; i < h.Hi; i++ {
				r.unlearnt[i] = true
			}
		}
	}
}

// wentOver tells whether the car went over from a taller gear to a ratio that it held without a break of force, as a
// clutch that gives way does.
func (r *Record) wentOver(h gearstate.Held, look sight) bool {
	t := r.Track
	last := h.Lo - 1
	for last >= 0 && t.Clutch[last] != gearstate.Locked {
		last--
	}
	for _, run := range r.Runs {
		if last < run.Lo || last >= run.Hi || t.Model.Gears[run.Index].K >= h.K {
			continue
		}
		held := run
		run.Hi, held.Lo, held.Hi = last+1, h.Lo, h.Hi
		return r.pushThrough(&run, &held).unbroken(look)
	}
	return false
}

// Unlearnt tells whether the car is in a gear at sample i that was not learnt.
func (r *Record) Unlearnt(i int) bool { return r.unlearnt != nil && r.unlearnt[i] }

// inUnlearnt is how long (s) of a departure the car was in a gear that was not learnt, and the longest part of the
// rest, which is a change of gear.
func (r *Record) inUnlearnt(c *Departure) (seconds, rest float64) {
	t := r.Track.T
	since := c.Start
	for i := c.lo; i < c.hi; i++ {
		if !r.Unlearnt(i) {
			continue
		}
		rest = max(rest, t[i]-since)
		if i > c.lo && r.Unlearnt(i-1) {
			seconds += t[i] - t[i-1]
		}
		since = t[i]
	}
	return seconds, max(rest, c.End-since)
}

// InUnlearnt tells whether the car was in a gear that was not learnt, and the longest part (s) of a departure in which
// it was not.
func (c *Departure) InUnlearnt() (rest float64, ok bool) { return c.seen.beside, c.seen.unlearnt > 0 }
