package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// notUnderstood is a spread of pulls from which a log is not understood.
const notUnderstood = 4.0

// Misunderstood tells whether the two speeds differ so much even where no clutch slips that a slip could hide in it.
func (r *Record) Misunderstood() bool { return r.PullSpread > notUnderstood }

// ForceKept tells whether the wheels were pushed through a departure as before it, on a link of a value every so many
// seconds.
func (c *Departure) ForceKept(period float64) bool {
	return c.seen.within >= keptShare*c.seen.before && c.duration >= keptFor+period
}

// InLearntGear tells whether a departure is another gear of the ladder, one that went in before the engine was asked
// for anything, that lies on the way up to this one, or that the engine followed the car in.
func (c *Departure) InLearntGear() bool {
	return c.seen.otherFit > otherShare && (c.seen.unasked || c.seen.passing || c.seen.tied)
}

// OtherGear tells of each sample whether it is of a departure that is another gear of the ladder.
func (r *Record) OtherGear() []bool {
	out := make([]bool, r.Track.Len())
	r.each(func(c *Departure) {
		for i := c.lo; i < c.hi && c.InLearntGear(); i++ {
			out[i] = true
		}
	})
	return out
}

// Slid tells whether the clutch was slipping in a taller gear when this one seemed to go in: an engine that runs away
// passes the ratios of lower gears.
func (c *Departure) Slid() bool { return c.seen.slid }

// Relocks tells whether the clutch held again in the same gear after a departure.
func (c *Departure) Relocks() bool { return c.seen.relocks }

// ComesToRest tells whether a departure is a clutch that is let in: the engine had not met its line in this gear
// before, and the excess falls to nothing.
func (c *Departure) ComesToRest() bool {
	return !c.seen.locked && !c.seen.rose && c.seen.settles && c.seen.relocks
}

// Rose tells whether the engine ran away again that had met its line after a change of gear.
func (c *Departure) Rose() bool { return c.seen.rose }

// movingFor is how long (s) before a departure a car must have been fast enough for its gear.
const movingFor = 4.0

// moving tells whether the car had been faster for a while before sample i than the gear in a place of the
// ladder allows at idle. A car that sets off, or speeds up from a crawl, was in a lower gear, whatever the log
// shows of it.
func (r *Record) moving(i, place int) bool {
	t := r.Track
	least := t.Model.Idle / t.Model.Gears[place].K
	for from := t.T[i] - movingFor; i >= 0 && t.T[i] >= from; i-- {
		if t.SpeedKmh[i] < least {
			return false
		}
	}
	return true
}

// Moving tells whether the car had been faster for a while before sample i than a gear allows at idle; so it is where
// no gear is told.
func (r *Record) Moving(i, gear int) bool { return gear == 0 || r.moving(i, r.Track.Model.Index(gear)) }

// Fits tells whether engine speed stands no further from the gear at sample i than a gear is known.
func (r *Record) Fits(i int) bool {
	return r.Track.Gear[i] != 0 && math.Abs(r.Track.Excess[i]) <= leastSlip*r.Track.SpeedKmh[i]
}

// Ahead tells whether engine speed stands further above a gear at sample i than that is known; above none it stands
// nowhere.
func (r *Record) Ahead(i, gear int) bool {
	t := r.Track
	return gear != 0 && t.RPM[i] > (1+leastSlip)*t.SpeedKmh[i]*t.Model.Gears[t.Model.Index(gear)].K
}

// Gaps in a pull. Beside one, engine speed is looked at on either side: on the line, that stretch is untested
// and others stand; off it, the clutch may have slipped there.
const (
	gapLeast    = 0.6 // s, and so many values:
	gapValues   = 2.5
	gapSince    = 1.5   // s before a gap, and a value, in which the gear was locked: a slip runs away within that
	gapEdge     = 0.5   // s, and a value, beside a gap over which engine speed is read
	gapSteps    = 1.1   // steps of road speed off the line
	gapRelative = 0.022 // of road speed
	gapSD       = 2.5   // standard deviations of one locked value
)

// DoubtfulGap returns the first gap (s) at whose edges engine speed stands off the gear that was locked before it,
// under load, while no other gear is locked behind it: then the gear was changed.
func (r *Record) DoubtfulGap() (when float64, ok bool) {
	t := r.Track
	last := -1                      // last sample with engine speed
	gear, locked := 0, math.Inf(-1) // last gear locked, and when
	for i := range t.T {
		if math.IsNaN(t.RPM[i]) {
			continue
		}
		if last >= 0 && t.T[last]-locked <= gapSince+r.Period && t.T[i]-t.T[last] > max(gapLeast, gapValues*r.Period) &&
			r.moving(last, t.Model.Index(gear)) && !r.lockedElsewhere(i, gear) && r.offBeside(last, i, gear) {
			return t.T[last], true
		}
		if t.Clutch[i] == gearstate.Locked {
			gear, locked = int(t.Gear[i]), t.T[i]
		}
		last = i
	}
	return 0, false
}

// offBeside tells whether engine speed stands above its gear under load up to the last sample before a gap, or from
// the next one on: in the same gear even where the foot had been off.
func (r *Record) offBeside(last, next, gear int) bool {
	if r.loadedBeside(last) && r.offBefore(last, gear) {
		return true
	}
	return r.loadedSince(next) && (r.loadedBeside(last) && r.offAfter(next, gear) ||
		int(r.Track.Gear[next]) == gear && r.staysOff(next, gear))
}

// loadedSince tells whether the engine is under load in the moment from sample i on: a load that is asked for now and
// then may be one of before a gap at its end.
func (r *Record) loadedSince(i int) bool {
	for k := i; k < r.momentAfter(i); k++ {
		if r.loadedBeside(k) {
			return true
		}
	}
	return false
}

// loadedBeside tells whether the engine is under load at sample i, as far as is known.
func (r *Record) loadedBeside(i int) bool {
	t := r.Track
	if t.SpeedKmh[i] < PullSpeed {
		return false
	}
	if x := t.Load[i]; !math.IsNaN(x) {
		return x >= loadedFrom
	}
	return r.Phi(i) >= PushedFrom
}

// offBefore tells whether engine speed stands above its gear in the moment up to sample i, and still does at its end:
// what has come down to its gear by then is a gear that went in.
func (r *Record) offBefore(i, gear int) bool {
	from := i
	for from > 0 && r.Track.T[i]-r.Track.T[from-1] <= gapEdge+r.Period {
		from--
	}
	return r.off(from, i+1, gear) && r.off(i, i+1, gear)
}

// offAfter tells whether engine speed stands above its gear in the moment from sample i on. Its first value alone
// tells nothing: what was held back during a gap may come at once, with late times.
func (r *Record) offAfter(i, gear int) bool { return r.off(i, r.momentAfter(i), gear) }

// staysOff tells whether it does so under load in the moment after that as well, whatever the foot did before the gap:
// an engine that a clutch is let in to comes down.
func (r *Record) staysOff(i, gear int) bool {
	next := r.momentAfter(i)
	return next < r.Track.Len() && r.offAfter(i, gear) && r.offAfter(next, gear) && r.loadedBeside(next)
}

// momentAfter is the first sample after the moment that begins with sample i.
func (r *Record) momentAfter(i int) int {
	t := r.Track.T
	to := i + 1
	for to < len(t) && t[to]-t[i] <= gapEdge+r.Period {
		to++
	}
	return to
}

// lockedElsewhere tells whether another gear is locked for a second from sample i on: the gear was changed.
func (r *Record) lockedElsewhere(i, gear int) bool {
	t := r.Track
	j := i
	for j < t.Len() && t.T[j]-t.T[i] <= 1+r.Period && t.Clutch[j] == gearstate.Locked && int(t.Gear[j]) != gear &&
		t.Gear[j] == t.Gear[i] {
		j++
	}
	return j > i && t.T[min(j, t.Len()-1)]-t.T[i] > 1+r.Period
}

// off tells whether engine speed stands above its gear over samples [lo, hi) by more than the log's errors and the
// creep of a tyre that pushes.
func (r *Record) off(lo, hi, gear int) bool {
	t := r.Track
	m := &t.Model
	place := m.Index(gear)
	k, creep := m.Gears[place].K, creepSD(m)
	sum, v, sd, n := 0.0, 0.0, 0.0, 0.0
	for i := lo; i < hi; i++ {
		if !math.IsNaN(t.RPM[i]) {
			push := gearstate.PhiFromAcceleration(t.Accel[i], t.SpeedKmh[i]) * t.SpeedKmh[i]
			sum, v, n = sum+t.RPM[i]/k-t.SpeedKmh[i]-m.Creep*push, v+t.SpeedKmh[i], n+1
			sd += r.Spread * math.Hypot(m.LevelSD(t.SpeedKmh[i], t.Accel[i]), creep*push)
		}
	}
	return sum/n > math.Max(math.Max(gapSteps*m.StepIn(place), gapRelative*v/n), gapSD*sd/n)
}

// longestLight is how long (s) one value may stand for: a pause is no driving.
const longestLight = 1.0

// LightTime adds the time (s) that each gear was driven at light load.
func (r *Record) LightTime(seconds map[int]float64) {
	t := r.Track
	for i := 1; i < len(r.light); i++ {
		if r.light[i] {
			seconds[int(t.Gear[i])] += min(longestLight, t.T[i]-t.T[i-1])
		}
	}
}

// EnteredUnderForce returns the gears that were entered from a taller one without a break of force.
func (r *Record) EnteredUnderForce() []int {
	var out []int
	look := r.looked()
	for i := 1; i < len(r.Runs); i++ {
		a, b := &r.Runs[i-1], &r.Runs[i]
		if b.Index >= a.Index {
			continue
		}
		if r.pushThrough(a, b).unbroken(look) {
			out = append(out, b.Gear)
		}
	}
	return out
}

// Demand is how hard a pull was: mean wheel force over weight and gearing, which is in proportion to the engine's
// torque, as the road's slope leaves it, and the highest power per mass (W/kg).
func (r *Record) Demand(p *Pull) (torque *stats.Estimate, power float64) {
	k := r.Track.Model.Gears[p.Run.Index].K
	n, mean := float64(p.Hi-p.Lo), 0.0
	for i := p.Lo; i < p.Hi; i++ {
		mean += r.Phi(i) / k / n
		power = math.Max(power, r.Phi(i)*vehicle.Gravity*r.State(i).V/3.6)
	}
	return stats.Normal(mean, vehicle.UsualSlopeSD/k), power
}
