package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/stat/distuv"
)

// A gearbox tells its kind by what the foot and the force at the wheels do while it changes up, and by whether
// the engine is tied to the wheels in easy driving. Who changes gear by hand lifts the foot and opens the
// clutch, and the force breaks. A converter, a dual clutch or a stepless box changes under a foot that stays
// down, and hands the force over.

// Shift is one change up in the middle of pulling. What does not tell anything is NaN.
type Shift struct {
	T      float64 // s, when the lower gear ended
	Push   push
	Load   float64 // load fraction before or after the change, whichever is smaller
	Lowest float64 // the lowest load during the change, as a share of Load
}

// push is the force at the wheels through a change of gear: what a break takes from it, the car's speed lacks
// afterwards, however seldom values come.
type push struct {
	took    float64 // s from the last value of one gear to the first of the next
	force   float64 // mean of the wheel forces over weight beside it
	apart   float64 // half of their difference, as a share of force
	through float64 // the mean force in between, as a share of force; NaN of a change that was not made under force
}

const (
	shiftWithin = 2.5  // s from the end of one gear to the start of the next
	forceBeside = 0.03 // wheel force over weight on both sides of a change that tells something,
	loadBeside  = 0.12 // or load fraction
	shiftBeside = 1.0  // s on either side over which force is read, and
	sideValues  = 3.0  // intervals
	footFirst   = 0.4  // s by which the foot moves before the gear does, and
	footAfter   = 0.3  // s after it is in, when the foot is on its way back
	loadBefore  = 1.5  // s beside a change over which load is read
	broken      = 0.75 // of the force beside; less through a change: the force was broken; manual boxes 0.4 to 0.6, seen

	// s that a foot breaks the force: a change that seems to take longer, because values are far apart, shows only a
	// part of it
	breakTime = 0.8
	breakSeen = 1.0 / 3 // of the time that is looked at, which a break must fill: less is lost in the force beside
	// of the force before: the car rolls with the clutch down, up or down the hill that the force was read on,
	openLow     = -0.3
	openHigh    = 0.8  // or the foot comes up late and the force is hardly gone
	wholeSD     = 0.1  // standard deviation of the force through a gearbox that hands it over, of that beside,
	besideSD    = 0.01 // of a force read over a second, of weight,
	endSD       = 0.15 // and of road speed at either end of a change, km/h
	leastSeen   = 0.2  // share of the lifts of a foot that no value shows
	leastChange = 0.05 // s; a change that takes less takes no time
	// of the load beside, below which the foot is up; above, a control unit may have taken torque for the
	// change
	footUp     = 0.4
	loadReadSD = 0.03 // of a load fraction
	cutsChance = 0.4  // that it does

	liftsChance = 0.12 // that the driver of a gearbox that changes by itself lifts just then
	// that the driver of a manual box changes gear without a lift. All of these: common practice, no source
	flatChance = 0.35

	easyFrom, easyTo = 0.08, loadedFrom // load fraction of easy driving
	easyLeast        = 15.0             // s of it
	// share of it in which the engine is not locked to a gear, equally likely in both kinds
	easyUsual        = 0.27
	easySlope        = 15.0 // nats per share
	easyMin, easyMax = -1.5, 5.0
)

// GearboxOdds is what the records tell of the gearbox: nats by which a kind that slips by design is likelier
// than a manual one.
func GearboxOdds(records []*Record) float64 {
	odds, loose, all := 0.0, 0.0, 0.0
	for _, r := range records {
		for _, s := range r.shifts() {
			odds += s.odds(r.Period)
		}
		l, a := r.easyDriving()
		loose, all = loose+l, all+a
	}
	if all >= easyLeast {
		odds += math.Max(easyMin, math.Min(easyMax, easySlope*(loose/all-easyUsual)))
	}
	return odds
}

// odds is what a change up tells, nats by which a gearbox that changes under load is likelier than one whose
// driver lifts.
func (s Shift) odds(period float64) float64 {
	lifted := math.Exp(s.Push.forceGone() + s.footLifted(period)) // likelihood of what was seen, of a lift over none
	return math.Log((1 - liftsChance + liftsChance*lifted) / (flatChance + (1-flatChance)*lifted))
}

// sd is the standard deviation of the force through a change, in a share of which one gear's force or the other's is
// there: when it gives way is not known.
func (p push) sd(share float64) float64 {
	ends := endSD * math.Sqrt2 / p.took / 3.6 / vehicle.Gravity
	between := share * p.apart
	return math.Sqrt(wholeSD*wholeSD + between*between/3 + (besideSD*besideSD+ends*ends)/(p.force*p.force))
}

// forceGone is by how many nats the force through a change is that of a break.
func (p push) forceGone() float64 {
	if math.IsNaN(p.through) {
		return 0
	}
	seen := math.Min(1, breakTime/p.took)
	if seen < breakSeen {
		return 0
	}
	left := func(share float64) float64 { return 1 - seen*(1-share) }
	gone := uniform(p.through, left(openLow), left(openHigh), p.sd(1-seen))
	return gone - math.Log(whole(p.through, p.sd(1))+1e-9)
}

// footLifted is by how many nats the load through a change is that of a foot that lifts. On a slow link no
// value may fall into the lift.
func (s Shift) footLifted(period float64) float64 {
	if math.IsNaN(s.Lowest) {
		return 0
	}
	sd := math.Hypot(wholeSD, loadReadSD/s.Load)
	kept := (1-cutsChance)*whole(s.Lowest, sd) + cutsChance*math.Exp(uniform(s.Lowest, footUp, 1, sd)) + 1e-9
	seen := math.Min(1, breakTime/period) * (1 - leastSeen)
	return math.Log(seen*math.Exp(uniform(s.Lowest, 0, footUp, sd))/kept + 1 - seen)
}

// whole is the density of a share that stays what it was, or rises.
func whole(share, sd float64) float64 {
	z := math.Min(0, (share-1)/sd)
	return distuv.UnitNormal.Prob(z) / sd
}

// shifts returns the changes up in the middle of pulling.
func (r *Record) shifts() []Shift {
	var out []Shift
	t := r.Track.T
	for i := 1; i < len(r.Runs); i++ {
		a, b := &r.Runs[i-1], &r.Runs[i]
		if b.Index <= a.Index || t[b.Lo]-t[a.Hi-1] > shiftWithin+r.Period {
			continue
		}
		s := Shift{T: t[a.Hi-1], Push: r.pushThrough(a, b)}
		s.Lowest, s.Load = r.loadDip(a, b)
		if !math.IsNaN(s.Push.through) || !math.IsNaN(s.Lowest) {
			out = append(out, s)
		}
	}
	return out
}

// loadDip is the lowest load through a change from one run to the next, over the smaller of the loads beside
// it, and that load; NaN where the foot was hardly down before or after.
func (r *Record) loadDip(a, b *motion.Run) (dip, load float64) {
	t := r.Track.T
	from, to := t[a.Hi-1]-footFirst-r.Period/2, t[b.Lo]+footAfter
	before, _ := r.loads(a.Lo, a.Hi, t[a.Hi-1]-loadBefore, from)
	after, _ := r.loads(b.Lo, b.Hi, to, t[b.Lo]+loadBefore)
	load = math.Min(before, after)
	_, low := r.loads(0, len(t), from, to)
	if !(load >= loadBeside) {
		return math.NaN(), math.NaN()
	}
	return low / load, load
}

// loads returns the mean and the lowest load fraction of those of samples [lo, hi) between two times; NaN and
// infinity without any.
func (r *Record) loads(lo, hi int, from, to float64) (mean, low float64) {
	sum, n, low := 0.0, 0.0, math.Inf(1)
	for i := max(lo, r.at(from)); i < hi && r.Track.T[i] <= to; i++ {
		if x := r.Track.Load[i]; !math.IsNaN(x) {
			sum, n, low = sum+x, n+1, math.Min(low, x)
		}
	}
	return sum / n, low
}

// pushThrough is the force at the wheels through a change from one run to the next.
func (r *Record) pushThrough(a, b *motion.Run) push {
	t := r.Track.T
	from, to := a.Hi-1, b.Lo
	side := math.Max(shiftBeside, sideValues*r.Period)
	before, after := r.lockedForce(a, t[from]-side, t[from]), r.lockedForce(b, t[to], t[to]+side)
	p := push{took: math.Max(leastChange, t[to]-t[from]), through: math.NaN()}
	if !(math.Min(before, after) >= forceBeside) {
		return p
	}
	p.force = (before + after) / 2
	p.apart = math.Abs(before-after) / 2 / p.force
	x, y := &r.State[from], &r.State[to]
	p.through = gearstate.PhiFromAcceleration((y.V-x.V)/p.took, (x.V+y.V)/2) / p.force
	return p
}

// lockedForce is the mean wheel force of the locked samples of a run between two times; NaN without any.
func (r *Record) lockedForce(run *motion.Run, from, to float64) float64 {
	return r.forceIn(run.Lo, run.Hi, from, to, func(i int) bool { return r.Track.Clutch[i] == gearstate.Locked })
}

// longestSample is how long (s) one sample may stand for.
const longestSample = 3.0

// easyDriving returns how long the car was driven at light throttle, and for how much of that the engine was
// not seen locked in a gear. A manual clutch that slips at full load is locked there. A change of gear looks
// longer by a value than it was.
func (r *Record) easyDriving() (loose, all float64) {
	t := r.Track
	stretch := 0.0
	end := func() { loose, stretch = loose+math.Max(0, stretch-r.Period), 0 }
	for i := 1; i < t.Len(); i++ {
		dt := t.T[i] - t.T[i-1]
		if dt > longestSample || t.SpeedKmh[i] < PullSpeed || !(t.Load[i] > easyFrom && t.Load[i] < easyTo) ||
			math.IsNaN(t.RPM[i]) {
			end()
			continue
		}
		all += dt
		if t.Clutch[i] == gearstate.Locked {
			end()
		} else {
			stretch += dt
		}
	}
	end()
	return loose, all
}
