package detect

import (
	"slices"

	"flywitness/analysis/gearstate"
)

// A gear that the car was hardly driven in is not learnt: a pull in it departs from the next taller one. So does one
// in a gear that went in between two values, or so soon that it passes for slip.

// findGeared marks the samples that hold the ratio of a gear without being locked in it, unless it was gone over to
// from a locked gear without a break of force.
func (r *Record) findGeared() {
	t := r.Track
	r.geared = make([]bool, t.Len())
	held := slices.DeleteFunc(t.HeldRatios(), func(h gearstate.Held) bool { return !r.isGear(h) })
	if len(held) == 0 {
		return
	}
	look := r.sight()
	for _, h := range held {
		if !r.wentOver(h, look) {
			for i := h.Lo; i < h.Hi; i++ {
				r.geared[i] = true
			}
		}
	}
}

// isGear tells whether a ratio that was held is a gear's: another one of the ladder or, where that is not complete,
// one that no clutch holds for long, or where a gear is lacking.
func (r *Record) isGear(h gearstate.Held) bool {
	m := &r.Track.Model
	if place, ok := m.At(h.K); ok {
		return place != r.Track.Place(h.Lo)
	}
	return m.Lacks(h.K)
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

// Geared tells whether the car is in a gear at sample i that the clutch is not seen locked in.
func (r *Record) Geared(i int) bool { return r.geared != nil && r.geared[i] }

// timeGeared is how long (s) of a departure the car was in such a gear, and the longest part of the rest, which is a
// change of gear.
func (r *Record) timeGeared(c *Departure) (seconds, rest float64) {
	t := r.Track.T
	since := c.Start
	for i := c.lo; i < c.hi; i++ {
		if !r.Geared(i) {
			continue
		}
		rest = max(rest, t[i]-since)
		if i > c.lo && r.Geared(i-1) {
			seconds += t[i] - t[i-1]
		}
		since = t[i]
	}
	return seconds, max(rest, c.End-since)
}

// WasGeared tells whether the car was in such a gear, and the longest part (s) of a departure in which it was not.
func (c *Departure) WasGeared() (rest float64, ok bool) { return c.seen.beside, c.seen.geared > 0 }

// lacksGear tells whether the car may have a gear at the ratio of a departure that the ladder lacks.
func (r *Record) lacksGear(c *Departure) bool {
	m := &r.Track.Model
	return m.Lacks(m.Gears[c.run.Index].K / (1 - c.MeanSlip/100))
}
