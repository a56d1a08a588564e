package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// evidence is what the drive shows about a departure beside its size: what every explanation is asked about.
type evidence struct {
	locked  bool // the clutch was locked in this gear just before
	rose    bool // the engine had met its line in this gear before, be it for a moment
	relocks bool // it locks again in the same gear

	// Mean wheel force over weight before the departure, at its rise and in its middle; NaN where it was too
	// short to be seen.
	before, rise, within float64

	slid     bool    // the clutch was slipping in a taller gear just before
	settles  bool    // the excess falls towards rest
	steady   bool    // engine and road speed keep one ratio, as in a gear,
	tied     bool    // while road speed changes
	wanders  float64 // standard deviation of the logarithm of their ratio
	footDown bool    // the driver asked for more during the departure: the force before it is no measure
	unasked  bool    // the engine stood off its line before it was asked for anything
	passing  bool    // the gear that fits lies between the one before and this one

	geared   float64 // s in a gear that the clutch is not seen locked in,
	beside   float64 // and s, longest part outside of one
	alone    float64 // s, longest part without a lift
	otherFit float64 // share of the samples at which one other gear would be right
	paired   bool    // two running are in one other gear, whichever
	between  float64 // s, longest part between two gears: at no other one, and at no ratio that may be an unlearnt one's
	outside  float64 // s, all of those parts
	grows    bool    // the excess is larger in the second half than in the first
	stands   float64 // s in which slip stands above half of its peak
	z        float64 // standard deviations by which the mean stands above the locked line
	longest  float64 // rpm/s, fastest rise of the engine
	pulled   bool    // the engine was pulled down although the driver asked for full load

	underFoot   bool // a switch shows a foot on the clutch pedal,
	withoutFoot bool // or none that could have a part in it
}

// Stretches about a departure over which force is read, s.
const (
	beforeFrom, beforeTo = 1.2, 0.1
	riseFrom, riseTo     = 0.2, 0.8
	middleFrom           = 0.25 // of the departure
	middleTo             = 0.9
	tippedIn             = 0.5 // of the force within: less before means that the foot went down during the departure
	// standard deviation of the logarithm of a ratio that a gear keeps, steps of road speed aside
	steadyRatio = 0.015
	tiedBy      = 3.0 // of that, by which road speed must spread for a ratio to be a gear's and no chance
)

// evidenceOf reads the evidence about a departure. Start, End, mean slip and level are known.
func (r *Record) evidenceOf(c *Departure) evidence {
	e := evidence{locked: r.lockedBefore(c), relocks: r.locksAfter(c), alone: r.withoutLift(c)}
	e.otherFit, e.passing = r.fits(c)
	e.before = r.force(c.Start-beforeFrom-r.pick(0, r.Period), c.Start-beforeTo) // with a value in it on a slow link too
	e.rise = r.force(c.Start-riseFrom, c.Start+riseTo)
	from, lasts := r.pushed(c)
	e.within = r.force(from+middleFrom*lasts, from+middleTo*lasts)
	e.paired = r.paired(c)
	e.footDown = e.before < tippedIn*e.within
	w := r.test(c.lo, c.hi, c.run.Index)
	e.z = w.mean / w.sd
	for i := max(c.lo-1, 0); i < c.hi; i++ {
		e.longest = math.Max(e.longest, r.Track.RPMRate[i])
	}
	e.pulled = r.pulledDown(c)
	e.stands = r.stands(c)
	e.settles, e.grows = r.settles(c), r.grows(c)
	e.unasked = r.unasked(c)
	e.slid = r.slid(c)
	e.rose = c.lo >= c.run.Lo+meets
	if e.steady, e.tied, e.wanders = r.steady(c); !e.steady || r.Track.Model.Complete {
		e.between, e.outside = r.between(c)
	}
	e.geared, e.beside = r.timeGeared(c)
	e.underFoot, e.withoutFoot = r.underFoot(c), r.withoutFoot(c)
	return e
}

// lastLocked is the place in the ladder in which the clutch was locked last before a departure, -1 for none.
func (r *Record) lastLocked(c *Departure) int {
	for i := c.lo - 1; i >= 0; i-- {
		if r.Track.Clutch[i] == gearstate.Locked {
			return r.Track.Place(i)
		}
	}
	return -1
}

// unasked tells whether an engine that had been locked in this gear or a taller one was half as far ahead as a
// departure is in the mean while the foot was still off: no clutch slips then.
func (r *Record) unasked(c *Departure) bool {
	if r.lastLocked(c) < c.run.Index {
		return false
	}
	for i := c.lo; i < c.hi && r.Track.Load[i] < loadedFrom; i++ {
		if r.Track.Load[i] < FootOff && 100*r.SlipAt(i) >= c.MeanSlip/2 {
			return true
		}
	}
	return false
}

// stands is how long (s) slip stands above half of its peak within a departure.
func (r *Record) stands(c *Departure) (s float64) {
	t := r.Track.T
	half := c.PeakSlip / 100 / 2
	for i := c.lo + 1; i < c.hi; i++ {
		if r.SlipAt(i) >= half {
			s += t[i] - t[i-1]
		}
	}
	return s
}

// meets is how many values of a gear on its line before a departure show that the engine had met it: one may be the
// engine's fall across it.
const meets = 2

// settles tells whether the excess of the second half of a departure is much smaller than that of the first.
func (r *Record) settles(c *Departure) bool {
	first, second, ok := r.halves(c)
	return !ok || second < stays*first
}

// grows tells whether the excess of the second half is the larger one: a clutch that is let in comes to rest.
func (r *Record) grows(c *Departure) bool {
	first, second, ok := r.halves(c)
	return ok && second > first
}

// middle is the first sample of the second half of a departure; ok is false where one of the halves has no sample.
func (r *Record) middle(c *Departure) (at int, ok bool) {
	at = r.at(c.Start + c.duration/2)
	return at, at > c.lo && at < c.hi
}

// halves are the mean excess of the first and of the second half of a departure; ok is false where one has no sample.
func (r *Record) halves(c *Departure) (first, second float64, ok bool) {
	half, ok := r.middle(c)
	if !ok {
		return 0, 0, false
	}
	return r.MeanE(c.lo, half), r.MeanE(half, c.hi), true
}

const (
	stepSD      = 0.3 // of a step of road speed: the standard deviation that rounding leaves, 1/sqrt(12)
	fitsWithin  = 1.2 // km/h from another gear, beside twice the error of a locked one and of the gear, that fit it
	lockedAbout = 3.0 // s before and after a departure in which the clutch is looked at
	lockedLeast = 0.4 // s, and a value, of being locked
	lockedShare = 0.4 // of the excess of a departure that a locked clutch stays below,
	lockedMost  = 1.5 // km/h, at most,
	lockedSlack = 0.3 // km/h beside
)

// slid tells whether the clutch was slipping in a taller gear just before a departure that began with its run.
func (r *Record) slid(c *Departure) bool {
	t := r.Track
	if c.lo > c.run.Lo {
		return false
	}
	for i := c.run.Lo - 1; i >= 0 && t.T[c.run.Lo]-t.T[i] <= motion.Lapse+r.Period; i-- {
		if t.Clutch[i] == gearstate.Slipping && t.Place(i) > c.run.Index {
			return true
		}
	}
	return false
}

// steady tells whether engine speed keeps its ratio to road speed through the middle of a departure, as in a gear, and
// the standard deviation of the ratio's logarithm; tied, whether road speed changed meanwhile by far more than the
// ratio may: only a gear makes the engine follow.
func (r *Record) steady(c *Departure) (is, tied bool, sd float64) {
	t := r.Track
	sd, n := r.inMiddle(c, func(i int) float64 { return t.RPM[i] / math.Max(r.State(i).V, 1) })
	v, _ := r.inMiddle(c, func(i int) float64 { return math.Max(r.State(i).V, 1) })
	most := steadyRatio + stepSD*t.Model.StepIn(c.run.Index)/c.speed
	is = n < fewestValues || sd < most
	return is, is && n >= fewestValues && v >= tiedBy*most, sd
}

// inMiddle is the standard deviation of the logarithm of something through the middle of a departure, of n values.
// Once the foot lifts a change of gear may begin; on a slow link too few values may be left until then.
func (r *Record) inMiddle(c *Departure, of func(i int) float64) (sd, n float64) {
	from, lasts := r.pushed(c)
	if (middleTo-middleFrom)*lasts < fewestValues*r.Period {
		from, lasts = c.Start, c.duration
	}
	var s, ss float64
	for i := c.lo; i < c.hi; i++ {
		if u := (r.Track.T[i] - from) / lasts; u >= middleFrom && u <= middleTo {
			x := math.Log(of(i))
			n, s, ss = n+1, s+x, ss+x*x
		}
	}
	return math.Sqrt(math.Max(0, ss/n-s/n*s/n)), n
}

// force is the mean wheel force over weight between two times; NaN without a sample.
func (r *Record) force(from, to float64) float64 { return r.forceIn(0, r.Track.Len(), from, to, nil) }

// forceIn is the same over those of samples [lo, hi) that count; nil: all do.
func (r *Record) forceIn(lo, hi int, from, to float64, counts func(i int) bool) float64 {
	sum, n := 0.0, 0.0
	for i := max(lo, r.at(from)); i < hi && r.Track.T[i] <= to; i++ {
		if counts == nil || counts(i) {
			sum, n = sum+r.Phi(i), n+1
		}
	}
	return sum / n
}

// at is the first sample at or after t.
func (r *Record) at(t float64) int {
	lo, hi := 0, r.Track.Len()
	for lo < hi {
		if mid := (lo + hi) / 2; r.Track.T[mid] < t {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// pulledDownRPM is how far engine speed falls under full load, rpm, before that is a clutch taking hold; a
// limiter lets it bounce less.
const pulledDownRPM = 800.0

// pulledDown tells whether the engine was pulled down during a departure although the driver asked for full
// load: only a clutch that holds more than the engine gives does that, so it had been let go. A clutch that
// slips by itself lets the engine rise to where its torque is what the clutch carries, and stay there.
func (r *Record) pulledDown(c *Departure) bool {
	t := r.Track
	top := 0.0
	for i := c.lo; i < c.hi; i++ {
		if next := min(r.at(t.T[i]+r.Period), t.Len()-1); !(t.Load[i] >= FullFrom && t.Load[next] >= FullFrom) {
			top = 0
			continue
		}
		top = math.Max(top, t.RPM[i])
		if top-t.RPM[i] >= pulledDownRPM {
			return true
		}
	}
	return false
}

// FootOff is the load fraction below which the foot is off the accelerator.
const FootOff = 0.2

// withoutLift is the longest part of a departure (s) without a lift: who lifts may have changed gear, and
// another departure begins.
func (r *Record) withoutLift(c *Departure) float64 {
	longest, since := 0.0, c.Start
	for i := c.lo; i < c.hi; i++ {
		t := r.Track.T[i]
		if r.Track.Load[i] < FootOff {
			longest, since = max(longest, t-since), t
		}
	}
	return max(longest, c.End-since)
}

// footKept is the longest part of a departure (s) in which the foot is known to stay down.
func (r *Record) footKept(c *Departure) float64 {
	return r.longest(c, func(i int) bool { return r.Track.Load[i] >= loadedFrom })
}

// pushed is the part of a departure (s) in which the foot is known to stay down, where that lasts, else all of it:
// once it lifts nothing carries force.
func (r *Record) pushed(c *Departure) (from, lasts float64) {
	from, lasts = c.Start, 0
	since := math.NaN()
	for i := c.lo; i < c.hi; i++ {
		t := r.Track.T[i]
		switch {
		case !(r.Track.Load[i] >= loadedFrom):
			since = math.NaN()
		case math.IsNaN(since) || t-r.Track.T[i-1] > r.Track.Model.Gap(): // no value in between is no force
			since = t
		case t-since > lasts:
			from, lasts = since, t-since
		}
	}
	if lasts < bothFeet {
		return c.Start, c.duration
	}
	return from, lasts
}

// longest is the longest part of a departure (s) whose samples all count.
func (r *Record) longest(c *Departure, counts func(i int) bool) (s float64) {
	since := math.NaN()
	for i := c.lo; i < c.hi; i++ {
		t := r.Track.T[i]
		switch {
		case !counts(i):
			since = math.NaN()
		case math.IsNaN(since):
			since = t
		default:
			s = max(s, t-since)
		}
	}
	return s
}

// fits is the largest share of a departure's samples at which one and the same other gear would be right, and whether
// that is passed on the way up to this one. The first and the last one fall into the changes of gear.
func (r *Record) fits(c *Departure) (share float64, passing bool) {
	t := r.Track
	m := &t.Model
	lo, hi := c.lo, c.hi
	if hi-lo > fewestValues {
		lo, hi = lo+1, hi-1
	}
	best, place := 0, c.run.Index
	for g := range m.Gears {
		if g == c.run.Index {
			continue
		}
		if n := r.inOneGear(lo, hi, g); n > best {
			best, place = n, g
		}
	}
	before := r.lastLocked(c)
	return float64(best) / float64(hi-lo), before >= 0 && before < place && place < c.run.Index
}

// inOneGear is how many of samples [lo, hi) one gear in a place of the ladder would be right at. A ratio that is
// hardly known is one ratio all the same: the mean of those that it may be.
func (r *Record) inOneGear(lo, hi, place int) (n int) {
	g := r.Track.Model.Gears[place]
	rpm, v := 0.0, 0.0
	for i := lo; i < hi; i++ {
		if r.fitsRatio(i, g) {
			n, rpm, v = n+1, rpm+r.Track.RPM[i], v+r.State(i).V
		}
	}
	if n == 0 || g.SD <= leastSlip*g.K {
		return n
	}
	n = 0
	for i := lo; i < hi; i++ {
		if r.fitsRatio(i, gearstate.Gearing{K: rpm / v}) {
			n++
		}
	}
	return n
}

// fitsGear tells whether sample i may be one in a place of the ladder.
func (r *Record) fitsGear(i, place int) bool { return r.fitsRatio(i, r.Track.Model.Gears[place]) }

// fitsRatio tells whether sample i may be one in a gear.
func (r *Record) fitsRatio(i int, g gearstate.Gearing) bool {
	t := r.Track
	v := r.State(i).V
	return math.Abs(t.RPM[i]/g.K-v) < fitsWithin+2*math.Hypot(t.Model.LevelSD(v, r.State(i).A), v*g.SD/g.K)
}

// FitsAnother tells whether sample i may be one in another gear of the ladder.
func (r *Record) FitsAnother(i, gear int) bool {
	for g := range r.Track.Model.Gears {
		if r.Track.Model.Gears[g].Number != gear && r.fitsGear(i, g) {
			return true
		}
	}
	return false
}

// paired tells whether two samples running may be in one and the same other gear.
func (r *Record) paired(c *Departure) bool {
	for g := range r.Track.Model.Gears {
		for i := c.lo + 1; i < c.hi && g != c.run.Index; i++ {
			if r.fitsGear(i-1, g) && r.fitsGear(i, g) {
				return true
			}
		}
	}
	return false
}

// between is the longest part of a departure (s) in which no sample fits another gear, and all of such parts. A car is
// there for as long as it changes gear, however far its values lie apart.
func (r *Record) between(c *Departure) (longest, all float64) {
	t := r.Track.T
	outside := func(i int) bool { return !r.FitsAnother(i, c.run.Gear) }
	for i := c.lo + 1; i < c.hi; i++ {
		if outside(i) {
			all += t[i] - t[i-1]
		}
	}
	return r.longest(c, outside), all
}

// lockedBefore tells whether the clutch was locked in this gear shortly before the departure, and after the one before
// that.
func (r *Record) lockedBefore(c *Departure) bool {
	t := r.Track
	limit := math.Max(stepSD*t.Model.StepIn(c.run.Index), math.Min(lockedShare*c.level, lockedMost))
	from := c.Start - lockedAbout
	for _, s := range r.Slips {
		if s.End < c.Start {
			from = math.Max(from, s.End)
		}
	}
	var sum, n float64
	first := math.NaN()
	for i := c.lo - 1; i >= c.run.Lo && t.T[i] >= from; i-- {
		sum += t.Excess[i]
		n++
		first = t.T[i]
	}
	return n >= 2 && c.Start-first >= math.Min(lockedLeast+r.Period, lockedAbout) && sum/n < limit+lockedSlack
}

// locksAfter tells whether the clutch locks again in the same gear: in the same run, or soon after a clutch
// that looked open while the engine fell back.
func (r *Record) locksAfter(c *Departure) bool {
	t := r.Track
	n := 0
	for i := c.hi; i < t.Len() && t.T[i] < c.End+lockedAbout; i++ {
		if t.Clutch[i] != gearstate.Locked {
			continue
		}
		if int(t.Gear[i]) != c.run.Gear {
			return false
		}
		if n++; n >= fewestValues {
			return true
		}
	}
	return false
}
