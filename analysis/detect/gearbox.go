package detect

import (
	"math"
	"sync"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// A gearbox tells its kind by what the foot and the force at the wheels do while it changes up, by what the engine
// does while it changes down (falls.go), and by whether the engine is tied to the wheels in easy driving. Who changes
// gear by hand lifts the foot and opens the clutch, and the force breaks. A converter, a dual clutch or a stepless box
// changes under a foot that stays down, and hands the force over.

// Shift is one change up in the middle of pulling. What does not tell anything is NaN.
type Shift struct {
	T      float64 // s, when the lower gear ended
	Push   push
	Load   float64 // load fraction before or after the change, whichever is smaller
	Lowest float64 // the lowest load during the change, as a share of Load
}

const (
	shiftWithin = 2.5  // s from the end of one gear to the start of the next
	loadBeside  = 0.12 // load fraction on both sides of a change that tells something
	footFirst   = 0.4  // s by which the foot moves before the gear does, and
	footAfter   = 0.3  // s after it is in, when the foot is on its way back
	loadBefore  = 1.5  // s beside a change, and a value, over which load is read

	leastSeen = 0.2 // share of the lifts of a foot that no value shows
	// of the load beside, below which the foot is up; above, a control unit may have taken torque for the
	// change
	footUp     = 0.4
	loadReadSD = 0.03 // of a load fraction
	cutsChance = 0.4  // that it does

	// that the driver of a gearbox that changes by itself lifts just then, in the seconds that it takes and a value: in a
	// longer look he lifts for something else, every so many seconds
	liftsChance, liftsTime, liftsEvery = 0.12, 1.5, 20.0
	// that the driver of a manual box changes gear without a lift. All of these: common practice, no source
	flatChance = 0.35
	shiftsCap  = 5.0 // nats, the most that all changes up of a log tell: one foot or one control unit made them

	// Easy driving: the engine pulls, turns above idle, and by no more force than this, over weight
	easyFrom, easyTo = 0.01, 0.08
	easyLoad         = 0.08 // load fraction of an engine that pulls, at least
	easyLeast        = 15.0 // s of it
	// Share of it in which the engine is not tied to a gear, of most manual boxes and of those that slip by design but
	// are locked whenever they can: exponential with the first of these means. Of the others with the second: gears that
	// were not learnt, a clutch that is worn out; converters that stay open, belts
	tiedShare, looseShare    = 0.02, 0.25
	manualTied, designedTied = 0.93, 0.45 // share of either kind that is tied, as simulated
)

// GearboxOdds is what the records tell of the gearbox: nats by which a kind that slips by design is likelier
// than a manual one.
func GearboxOdds(records []*Record) float64 {
	odds, loose, all := fallOdds(records), 0.0, 0.0
	for _, r := range records {
		var l, a float64
		var beside sync.WaitGroup
		beside.Go(func() { l, a = r.easyDriving() })
		odds += r.shiftOdds()
		beside.Wait()
		loose, all = loose+l, all+a
	}
	if all >= easyLeast {
		odds += looseOdds(loose / all)
	}
	return odds
}

// looseOdds is what the share of easy driving tells in which the engine is not tied to a gear.
func looseOdds(share float64) float64 {
	density := func(tied float64) float64 {
		return tied*math.Exp(-share/tiedShare)/tiedShare + (1-tied)*math.Exp(-share/looseShare)/looseShare
	}
	return math.Log(density(designedTied) / density(manualTied))
}

const (
	multiplies = 4.0 // of what was held at most, that a converter and gears below make of an engine's torque
	carriedSD  = 0.1 // of that share, as it is read: two forces, and the slope of the road
)

// SlipOdds is what the slips of the records tell against a clutch, in nats by which a gearbox that slips by design is
// the likelier, by what they carried and by their course. What each carried is alike in a car, and counts as one; what
// is carried as a clutch would tells nothing more: else it had been taken for no slip.
func SlipOdds(records []*Record) float64 {
	carried, n, course := 0.0, 0.0, 0.0
	for _, r := range records {
		r.each(func(c *Departure) {
			if c.Kind != KindSlip {
				return
			}
			course += r.course(c)
			if x := r.multiplied(c); !math.IsNaN(x) {
				carried, n = carried+x, n+1
			}
		})
	}
	return math.Max(0, carried/math.Max(n, 1)) + math.Max(-courseCap, math.Min(courseCap, course))
}

// multiplied is by how many nats a slip carried what a converter and the lower gear behind it do: more than was held.
// A clutch that slides carries what it had held at most, and less where it fades. NaN where that was not seen.
func (r *Record) multiplied(c *Departure) float64 {
	share := c.seen.within / math.Max(c.seen.rise, r.capacity()*r.Track.Model.Gears[c.run.Index].K)
	clutch := math.Exp(uniform(share, fadesLeast, keepsMost, carriedSD))
	designed := math.Exp(uniform(share, fadesLeast, multiplies, carriedSD))
	return math.Log((designed + misread) / (clutch + misread))
}

// The size and the course of a slip. A converter that is open under load lets the engine run ahead by a twentieth and
// more, most as the foot goes down, and less as the car catches up: its torque grows with the square of the engine's
// speed. A clutch that slides holds less than one that sticks, and the engine's torque rises with its speed: the
// excess is of any size, and grows. Of those that last for longer than a hand-over from clutch to clutch. Shares as
// simulated.
const (
	handOver        = 2.5  // s that a hand-over takes at most
	small           = 8.0  // % of engine speed
	clutchSmall     = 0.4  // share of slips of clutches that are small,
	designedSmall   = 0.08 // and of gearboxes that slip by design
	growsBy         = 1.25 // times the slip of the first half, that of the second is from where it grows
	clutchGrows     = 0.75 // share of slips of clutches that grow,
	clutchShrinks   = 0.07 // and that shrink by as much;
	designedGrows   = 0.12 // the same of gearboxes that slip by design
	designedShrinks = 0.55
	courseCap       = 3.0 // nats, the most that size and course of all may tell
)

// course is by how many nats size and course of a slip are those of a gearbox that slips by design. Values far apart
// hide the foot's going down, and what a converter does then.
func (r *Record) course(c *Departure) float64 {
	half, ok := r.middle(c)
	if !ok || r.Period > gearstate.SlowLink || c.duration < handOver {
		return 0
	}
	nats := math.Log((1 - designedSmall) / (1 - clutchSmall))
	if c.MeanSlip < small {
		nats = math.Log(designedSmall / clutchSmall)
	}
	switch growth := r.meanSlip(half, c.hi) / r.meanSlip(c.lo, half); {
	case growth >= growsBy:
		return nats + math.Log(designedGrows/clutchGrows)
	case growth <= 1/growsBy:
		return nats + math.Log(designedShrinks/clutchShrinks)
	}
	return nats + math.Log((1-designedGrows-designedShrinks)/(1-clutchGrows-clutchShrinks))
}

// meanSlip is the mean slip (fraction of engine speed) of samples [lo, hi).
func (r *Record) meanSlip(lo, hi int) float64 {
	sum := 0.0
	for i := lo; i < hi; i++ {
		sum += r.SlipAt(i)
	}
	return sum / float64(hi-lo)
}

// shiftOdds is what the changes up of a record tell. A link that hides the breaks of force hides those of the whole
// log: then the foot alone tells a manual box.
func (r *Record) shiftOdds() float64 {
	shifts := r.shifts()
	if len(shifts) == 0 {
		return 0
	}
	s := r.looked()
	byForce, byFoot := 0.0, 0.0
	for _, x := range shifts {
		foot := x.footLifted(s)
		lifts := x.lifts(s)
		byForce, byFoot = byForce+kindOdds(lifts, x.Push.forceGone(s)+foot), byFoot+kindOdds(lifts, foot)
	}
	hidden := s.hidden()
	nats := -math.Log((1-hidden)*math.Exp(-byForce) + hidden*math.Exp(-byFoot))
	return math.Max(-shiftsCap, math.Min(shiftsCap, nats))
}

// lifts is the chance that the driver of a gearbox that changes by itself lifts while load is looked at for a change.
func (s Shift) lifts(look sight) float64 {
	if math.IsNaN(s.Lowest) {
		return liftsChance
	}
	seconds := s.Push.took + look.period
	return 1 - (1-liftsChance)*math.Exp(-math.Max(0, seconds-liftsTime)/liftsEvery)
}

// kindOdds is what a change up tells, nats by which a gearbox that changes under load, and whose driver lifts in a
// share of the changes, is likelier than one whose driver lifts, of the nats by which a lift is likelier than none.
func kindOdds(lifts, lift float64) float64 {
	lifted := math.Exp(lift)
	return math.Log((1 - lifts + lifts*lifted) / (flatChance + (1-flatChance)*lifted))
}

// footLifted is by how many nats the load through a change is that of a foot that lifts. On a slow link no
// value may fall into the lift.
func (s Shift) footLifted(look sight) float64 {
	if math.IsNaN(s.Lowest) {
		return 0
	}
	sd := math.Max(math.Hypot(wholeSD, loadReadSD/s.Load), look.load)
	kept := (1-cutsChance)*whole(s.Lowest, sd) + cutsChance*math.Exp(uniform(s.Lowest, footUp, 1, sd)) + 1e-9
	seen := math.Min(1, breakTime/look.period) * (1 - leastSeen)
	return math.Log(seen*math.Exp(uniform(s.Lowest, 0, footUp, sd))/kept + 1 - seen)
}

// whole is the density of a share that stays what it was, or rises.
func whole(share, sd float64) float64 {
	return normal(math.Min(0, share-1), sd)
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
	side := loadBefore + r.Period
	before, _ := r.loads(a.Hi-1, a.Lo, a.Hi, t[a.Hi-1]-side, from)
	if !(before >= loadBeside) {
		return math.NaN(), math.NaN()
	}
	after, _ := r.loads(b.Lo, b.Lo, b.Hi, to, t[b.Lo]+side)
	if !(after >= loadBeside) {
		return math.NaN(), math.NaN()
	}
	_, low := r.loads(a.Hi-1, 0, len(t), from, to)
	load = min(before, after)
	return low / load, load
}

// loads returns the mean and the lowest load fraction of those of samples [lo, hi) between two times; NaN and
// infinity without any. near is a sample near the first of them.
func (r *Record) loads(near, lo, hi int, from, to float64) (mean, low float64) {
	t, load := r.Track.T, r.Track.Load
	for near > lo && t[near-1] >= from {
		near--
	}
	for near < hi && t[near] < from {
		near++
	}
	sum, n, low := 0.0, 0.0, math.Inf(1)
	for i := near; i < hi && t[i] <= to; i++ {
		if x := load[i]; !math.IsNaN(x) {
			sum, n, low = sum+x, n+1, min(low, x)
		}
	}
	return sum / n, low
}

// longestSample is how long (s) one sample may stand for.
const longestSample = 3.0

// easyDriving returns how long the car was driven with little force, and for how much of that the engine was not
// seen locked in a gear. A manual clutch that slips at full load is locked there; what is judged for a slip of it
// tells nothing beside. A change of gear looks longer by a value than it was.
func (r *Record) easyDriving() (loose, all float64) {
	t := r.Track
	judged := make([]bool, t.Len())
	r.each(func(c *Departure) {
		for i := c.lo; i < c.hi; i++ {
			judged[i] = true
		}
	})
	stretch := 0.0
	end := func() { loose, stretch = loose+math.Max(0, stretch-r.Period), 0 }
	for i := 1; i < t.Len(); i++ {
		dt := t.T[i] - t.T[i-1]
		if dt > longestSample || judged[i] || !r.easy(i) {
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

// easy tells whether the engine pulled the car along with little force at a sample, be its load known or not.
func (r *Record) easy(i int) bool {
	t, force := r.Track, r.Phi(i)
	return t.SpeedKmh[i] >= PullSpeed && force > easyFrom && force < easyTo && t.RPM[i] > aboveIdle*t.Model.Idle &&
		!(t.Load[i] < easyLoad)
}
