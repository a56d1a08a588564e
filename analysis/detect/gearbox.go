package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// A gearbox tells its kind by what the force at the wheels does while it changes gear, and by whether the engine is tied to the wheels in easy
// driving. A manual box breaks the force: the driver lifts and opens the clutch. A converter, a dual clutch or a stepless box does not.

// Shift is one gear change up by one, under force.
type Shift struct {
	T   float64 // s, when the lower gear ended
	Dip float64 // lowest wheel force through it over the smaller of the forces beside it
}

const (
	shiftWithin = 2.5  // s from the end of one gear to the start of the next
	forceBefore = 0.07 // wheel force over weight beside a change that tells something
	forceAfter  = 0.05
	shiftBeside = 1.0 // s on either side over which force is read
	dipTime     = 0.4 // s, and a value, over which the lowest force is read

	broken     = 0.75 // a dip below this: the force was broken; manual boxes 0.4 to 0.6, seen
	unbroken   = 0.85 // above: it was not
	brokenNats = -3.0
	wholeNats  = 0.9 // a manual box shifted without a lift looks so too
	smearNats  = 0.45

	easyFrom, easyTo = 0.08, LoadedFrom // load fraction of easy driving
	easyLeast        = 15.0             // s of it
	easyUsual        = 0.27             // share of it in which the engine is not locked to a gear, equally likely in both kinds
	easySlope        = 15.0             // nats per share
	easyMin, easyMax = -1.5, 5.0
)

// GearboxOdds is what the records tell of the gearbox: nats by which a kind that slips by design is likelier than a manual one.
func GearboxOdds(records []*Record) float64 {
	odds, loose, all := 0.0, 0.0, 0.0
	for _, r := range records {
		for _, s := range r.Shifts() {
			switch {
			case s.Dip < broken:
				odds += brokenNats
			case s.Dip > unbroken:
				odds += r.pick(wholeNats, smearNats)
			}
		}
		l, a := r.easyDriving()
		loose, all = loose+l, all+a
	}
	if all >= easyLeast {
		odds += math.Max(easyMin, math.Min(easyMax, easySlope*(loose/all-easyUsual)))
	}
	return odds
}

// Shifts returns the changes up by one gear under force.
func (r *Record) Shifts() []Shift {
	var out []Shift
	t := r.Track.T
	for i := 1; i < len(r.Runs); i++ {
		a, b := &r.Runs[i-1], &r.Runs[i]
		if b.Index != a.Index+1 {
			continue
		}
		if dip, ok := r.dip(a, b); ok {
			out = append(out, Shift{T: t[a.Hi-1], Dip: dip})
		}
	}
	return out
}

// dip is the lowest wheel force through a change from one run to the next, over the smaller of the forces beside it; ok is false where the change took too
// long or was not made under force.
func (r *Record) dip(a, b *motion.Run) (dip float64, ok bool) {
	t := r.Track.T
	end, start := t[a.Hi-1], t[b.Lo]
	if start-end > shiftWithin {
		return 0, false
	}
	before, after := r.lockedForce(a, end-shiftBeside, end), r.lockedForce(b, start, start+shiftBeside)
	if !(before >= forceBefore && after >= forceAfter) {
		return 0, false
	}
	return r.lowest(end-0.4, start+0.4, dipTime+r.Period) / math.Min(before, after), true
}

// lockedForce is the mean wheel force of the locked samples of a run between two times; NaN without any.
func (r *Record) lockedForce(run *motion.Run, from, to float64) float64 {
	return r.forceIn(run.Lo, run.Hi, from, to, func(i int) bool { return r.Track.Clutch[i] == gearstate.Locked })
}

// lowest is the smallest mean of wheel force over a window within two times.
func (r *Record) lowest(from, to, window float64) float64 {
	t := r.Track.T
	low := math.Inf(1)
	for i := r.at(from); i < len(t) && t[i]+window <= to+window/2; i++ {
		if x := r.force(t[i], t[i]+window); x < low {
			low = x
		}
	}
	return low
}

// easyDriving returns how long the car was driven at light throttle, and for how much of that the engine was not seen locked in a gear. A manual
// clutch that slips at full load is locked there.
func (r *Record) easyDriving() (loose, all float64) {
	t := r.Track
	for i := 1; i < t.Len(); i++ {
		dt := t.T[i] - t.T[i-1]
		if dt > 3 || t.SpeedKmh[i] < PullSpeed || !(t.Load[i] > easyFrom && t.Load[i] < easyTo) || math.IsNaN(t.RPM[i]) {
			continue
		}
		all += dt
		if t.Clutch[i] != gearstate.Locked {
			loose += dt
		}
	}
	return loose, all
}
