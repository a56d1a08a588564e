package detect

import (
	"math"
	"sync"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/internal/parts"
)

// Record is the motion of one log with what was found in it.
type Record struct {
	*motion.Record
	Pulls []Pull
	told  Told
	// by how much the statistic wanders where no clutch slips, at least 1: every standard deviation is
	// multiplied by it
	Spread     float64
	PullSpread float64 // the same of what a pull shows: see inPull
	Path       float64 // (km/h)^2: the standard deviation of road speed in bends times road speed; see pathOf
	creeps     float64 // per wheel force over weight: see creepFor

	geared     []bool  // samples in a gear that they are not locked in
	light      []bool  // by sample: driving at light load, where no clutch slips
	trials     []trial // of all records
	clutchOdds float64 // what they tell: see clutchOrWheels
	looseOdds  float64 // of all records, nats by which the road is a loose one: see weighCreep
	held       []held  // in each run; nothing before it is asked for,
	carried    float64 // and the most of what the clutch held, over gearing
	look       *sight  // see looked
}

// Told is what somebody knows of the drives that no log shows.
type Told struct {
	DryRoad bool // paved and dry throughout
}

// Find finds the pulls of every record and the departures within them, measures them with force and says what
// each is. A record without samples stays empty.
func Find(motions []*motion.Record, f *motion.Force, told Told) []*Record {
	records := make([]*Record, len(motions))
	var wait sync.WaitGroup
	for i, m := range motions {
		records[i] = &Record{Record: m, told: told, Spread: 1, PullSpread: 1}
		if m.Track.Len() > 0 {
			wait.Go(records[i].find)
		}
	}
	wait.Wait()
	motion.EstimateGrade(motions, f)
	for _, r := range records {
		r.each(func(c *Departure) { r.measure(c, f) })
	}
	weighTrials(records, nil)
	weighCreep(records, 0)
	for _, r := range records {
		r.each(r.explain)
	}
	together(records)
	for _, r := range records {
		r.each(func(c *Departure) { c.Alone = r.alone(c) })
		r.each(r.peakAfterChange)
	}
	return records
}

// find fills the pulls of a record with their departures.
//
// Engine speed is no road speed during a departure: road speed is estimated without
// it first widely about every hit, then again as closely as the departures tell.
func (r *Record) find() {
	var pulls []Pull
	var beside sync.WaitGroup
	beside.Go(func() {
		pulls = r.findPulls()
		r.findGeared()
	})
	r.learnNull()
	beside.Wait()
	r.findIn(pulls)
	beside.Go(r.measureHeld)
	r.Fit = r.FitOf()
	beside.Wait()
}

// findIn finds the departures within pulls. The samples in a gear that they are not locked in are marked.
func (r *Record) findIn(pulls []Pull) {
	r.Pulls = pulls
	hits := make([][][2]int, len(r.Pulls))
	parts.Every(len(hits), func(i int) {
		p := &r.Pulls[i]
		hits[i] = r.hits(p.Lo, p.Hi, p.Run.Index)
	})
	for i := range hits {
		for _, h := range hits[i] {
			r.Slips = append(r.Slips, motion.Span{Start: r.Track.T[h[0]] - 0.8, End: r.Track.T[h[1]-1] + 0.5})
		}
	}
	r.Without(r.Slips)
	for i := range r.Pulls {
		r.Pulls[i].Departures = r.departures(&r.Pulls[i], hits[i])
	}
	r.Slips = r.closely()
	r.Without(r.Slips)
}

// each visits every departure of a record.
func (r *Record) each(do func(c *Departure)) {
	for i := range r.Pulls {
		for q := range r.Pulls[i].Departures {
			do(&r.Pulls[i].Departures[q])
		}
	}
}

const (
	aloneOdds  = 5.0 // nats against a clutch that is let in, where it was not seen locked before
	aloneLong  = 2.5 // s and a value, without a lift, that an event must last to prove slip without a second one, or
	aloneShort = 1.5 // s and a value, locked before and after or smaller than what a foot on the pedal does
)

// alone tells whether an event proves slip without a second one: it begins locked, and lasts longer than anything else
// does, or it lasts longer than a foot stays on the pedal and either ends locked or is smaller than what a pedal does.
// One that grows, or goes on for far longer than a foot takes, begins as good as locked where the engine runs between
// the gears: a clutch that is let in comes to rest. On a slow link gears may be changed between two values: what is
// larger than a gear makes counts for as long as the foot is known to stay down, or where the engine ran out of gear.
// What is mostly a stab at the pedal proves nothing, whatever follows it.
func (r *Record) alone(c *Departure) bool {
	begins := c.seen.locked || (c.seen.grows || engaging(r, c) >= aloneOdds) && c.seen.between > aloneLong+r.Period
	if c.Kind != KindSlip || !begins || c.seen.pulled || c.stabs(r.Period) {
		return false
	}
	slow, small := r.Period > gearstate.SlowLink, c.PeakSlip < pedalPeak
	lasts := c.seen.alone
	if slow && !small && !r.outOfGear(c) {
		lasts = math.Min(lasts, r.footKept(c))
	}
	return lasts > aloneLong+r.Period || lasts > aloneShort+r.Period && (c.seen.relocks || small)
}

// outShare of a departure is more time out of gear than one gear after the other takes: half of it is spent in them.
const outShare = 2.0 / 3

// outOfGear tells whether the engine ran between the gears for longer, and for a larger part of a departure, than it
// does in one gear after the other.
func (r *Record) outOfGear(c *Departure) bool {
	return c.seen.outside > 2*breakTime+r.Period && c.seen.outside > outShare*c.duration
}

// stabs tells whether what stands out of a departure is as far and as short as a stab at the clutch pedal makes it.
func (c *Departure) stabs(period float64) bool {
	return c.PeakSlip > longPedalPeak && c.seen.stands < stabTime+period
}
