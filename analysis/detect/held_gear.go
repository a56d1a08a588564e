package detect

import (
	"math"
	"slices"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// A gear that the car was hardly driven in is not learnt: a pull in it departs from the next taller one. So does one
// in a gear that went in between two values, or so soon that it passes for slip.

// findGeared marks the samples that hold the ratio of a gear without being locked in it, unless it was gone over to
// from a taller gear without a break of force.
func (r *Record) findGeared() {
	t := r.Track
	r.geared = make([]bool, t.Len())
	held := slices.DeleteFunc(t.HeldRatios(), func(h gearstate.Held) bool { return !r.isGear(h) })
	if len(held) == 0 {
		return
	}
	look := r.sight()
	for q, h := range held {
		if !r.wentOver(h, held[:q], look) {
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
	return !m.Complete && (gearstate.BeyondSlip(h.K, m.Taller(h.K)) || gearstate.LacksOne(m.Ladder(), h.K))
}

// wentOver tells whether the car went over from a taller gear, a locked one or one of those held before, to a ratio
// that it held without a break of force, as a clutch that gives way does.
func (r *Record) wentOver(h gearstate.Held, before []gearstate.Held, look sight) bool {
	t := r.Track
	last := h.Lo - 1
	for last >= 0 && t.Clutch[last] != gearstate.Locked && !r.geared[last] {
		last--
	}
	lo := -1 // first sample in that gear
	for _, b := range before {
		if b.Lo <= last && last < b.Hi && b.K < h.K {
			lo = b.Lo
		}
	}
	for i := range r.Runs {
		if run := &r.Runs[i]; run.Lo <= last && last < run.Hi && t.Model.Gears[run.Index].K < h.K {
			lo = run.Lo
		}
	}
	if lo < 0 {
		return false
	}
	from, to := motion.Run{Lo: lo, Hi: last + 1}, motion.Run{Lo: h.Lo, Hi: h.Hi}
	return r.pushThrough(&from, &to).unbroken(look)
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

const (
	// of the logarithm of the step beside, that two gears of a gearbox are apart at least
	closestStep = 0.4
	// logarithm of a ratio of 1.5, that gears of road cars are apart at most: in a wider step a gear may be missing.
	// Common practice, no source
	widestStep = 0.4
)

// hasRoom tells whether the ladder has room for a gear that was not learnt at the ratio of a departure: steps change
// slowly from gear to gear. Below the lowest gear, and beside a single one, there is room.
func (r *Record) hasRoom(c *Departure) bool {
	m := &r.Track.Model
	if m.Complete {
		return false
	}
	step := func(i int) float64 { // from gear i down to the one below it
		if i < 1 || i >= len(m.Gears) {
			return widestStep
		}
		return math.Log(m.Gears[i-1].K / m.Gears[i].K)
	}
	i, above := c.run.Index, math.Log(1+c.level/c.speed)
	for i > 0 && above > step(i) {
		above -= step(i)
		i--
	}
	if i == 0 {
		return true
	}
	beside := math.Min(widestStep, math.Min(step(i-1), step(i+1)))
	return math.Min(above, step(i)-above) >= closestStep*beside
}
