package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/analysis/stats"

	"gonum.org/v1/gonum/stat/distuv"
)

// An engine that runs ahead of its gears while it pushes the car, before any of them was seen locked, tells less
// than a departure: as a rule a foot lets the clutch in. But wheels that are left to spin on a slippery road push
// with one force out of one change of gear after the other, whatever gear is in, and a weak clutch slides at its
// torque.

// ahead is a stretch in which the engine ran ahead of some of the gears and pushed the car.
type ahead struct {
	motion.Span
	lo    int        // its first sample
	force float64    // mean wheel force over weight in its middle
	gears []possible // that the engine was ahead of
}

// possible is a gear that may have been in: the logarithm of its rpm per km/h, and how likely it is beside the others.
type possible struct{ k, share float64 }

// All of these: common practice, no source.
const (
	// share of such stretches that are no foot's doing, where tyres or clutch give way at all
	givesAhead = 0.3
	// density of the logarithm of the force that a foot lets through: anything from a twentieth of the weight to half
	// of it
	footDensity = 0.43
	rarely      = 0.1  // share of a gear off the way from the gear before to the one after, of the others'
	onTheWay    = 10.0 // s from one to the other at most
	aheadBy     = 1.05 // times its engine speed, from where the engine is ahead of a gear
)

// findAhead lists those stretches.
func (r *Record) findAhead() (out []ahead) {
	t := r.Track
	lo := -1
	for i := 0; i <= t.Len(); i++ {
		if i < t.Len() && r.runsAhead(i) && (lo < 0 || t.T[i]-t.T[i-1] <= t.Model.Gap()) {
			if lo < 0 {
				lo = i
			}
			continue
		}
		if lo >= 0 && t.T[i-1]-t.T[lo] >= holdTime {
			out = append(out, r.aheadIn(lo, i))
		}
		lo = -1
	}
	return out
}

// runsAhead tells whether the engine is ahead of the tallest gear at sample i, not locked, and pushes the car.
func (r *Record) runsAhead(i int) bool {
	t := r.Track
	top := len(t.Model.Gears) - 1
	return top >= 0 && t.Clutch[i] != gearstate.Locked && t.SpeedKmh[i] > heldFrom &&
		t.RPM[i] > aheadBy*t.Model.Gears[top].K*t.SpeedKmh[i] && r.Phi(i) >= PushedFrom
}

// aheadIn is the stretch of samples [lo, hi).
func (r *Record) aheadIn(lo, hi int) ahead {
	t := r.Track
	a := ahead{Span: motion.Span{Start: t.T[lo], End: t.T[hi-1]}, lo: lo}
	lasts := a.End - a.Start
	a.force = r.force(a.Start+middleFrom*lasts, a.Start+middleTo*lasts)
	if math.IsNaN(a.force) { // of two values none lies in the middle
		a.force = r.force(a.Start, a.End)
	}
	least := math.Inf(1)
	for i := lo; i < hi; i++ {
		least = min(least, t.RPM[i]/t.SpeedKmh[i])
	}
	from, to := r.lockedBeside(lo, hi)
	for place, g := range t.Model.Gears {
		if least > aheadBy*g.K {
			share := 1.0
			if place < from || place > to {
				share = rarely
			}
			a.gears = append(a.gears, possible{math.Log(g.K), share})
		}
	}
	return a
}

// lockedBeside are the lowest and the highest place in the ladder on the way from the gear that was locked before
// samples [lo, hi) to the one after them; from the lowest or to the highest where none was, or the car crawled
// meanwhile.
func (r *Record) lockedBeside(lo, hi int) (from, to int) {
	t := r.Track
	open := func(i, beside int) bool {
		return t.Clutch[i] != gearstate.Locked && t.SpeedKmh[i] > heldFrom && math.Abs(t.T[i]-t.T[beside]) < onTheWay
	}
	before, after := lo, hi-1
	for before > 0 && open(before, lo) {
		before--
	}
	for after+1 < t.Len() && open(after, hi-1) {
		after++
	}
	to = len(t.Model.Gears) - 1
	if t.Clutch[before] == gearstate.Locked {
		from = t.Place(before)
	}
	if t.Clutch[after] == gearstate.Locked {
		to = t.Place(after)
	}
	return min(from, to), max(from, to)
}

// meets tells whether a stretch shares a moment with another.
func (a *ahead) meets(s motion.Span) bool { return a.Start < s.End && s.Start < a.End }

// trialAhead is a trial of an engine that ran ahead. On a slow link each change of gear looks like one, and has
// the force of the gears beside it: then it is only held.
func (r *Record) trialAhead(a *ahead) trial {
	x := r.trialAt(a.lo, 0, a.force, a.force, 0, false)
	x.ahead, x.slides = a.gears, givesAhead
	if r.Period > gearstate.SlowestLink {
		x.slides = 0
	}
	return x
}

// aheadOn is how likely a trial of an engine that ran ahead is on tyres that give way at a force: they slide at
// it, or hold what a foot lets through. All logarithms.
func (x trial) aheadOn(force, sd float64) float64 {
	let := footDensity * stats.NormalCDF((force-x.force-math.Log(bendsFrom))/sd)
	return x.slides*distuv.UnitNormal.Prob((x.force-force)/sd)/sd + (1-x.slides)*let
}

// aheadBehind is the same behind a clutch that gives way at a torque, in any of the gears.
func (x trial) aheadBehind(torque, sd float64) float64 {
	gives, all := 0.0, 0.0
	for _, g := range x.ahead {
		gives, all = gives+g.share*distuv.UnitNormal.Prob((x.force-g.k-torque)/sd)/sd, all+g.share
	}
	return x.slides*gives/all + (1-x.slides)*footDensity
}
