package detect

import (
	"math"
	"sync"

	"flywitness/analysis/motion"
	"flywitness/internal/parts"
)

// Record is the motion of one log with what was found in it.
type Record struct {
	*motion.Record
	Pulls []Pull
	told  Told
	foot  clutchSwitch
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
	gives      []gave  // of all records: see weighEngine
	ahead      []ahead // stretches in which the engine ran ahead of its gears
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
			wait.Go(func() { records[i].find(f.Known()) })
		}
	}
	wait.Wait()
	motion.EstimateGrade(motions, f)
	for _, r := range records {
		r.each(func(c *Departure) { r.measure(c, f) })
	}
	weighCreep(records, 0)
	weighTrials(records, nil)
	weighEngine(records)
	for _, r := range records {
		r.each(r.explain)
	}
	together(records)
	findAlone(records)
	for _, r := range records {
		r.each(r.peakBetweenChanges)
		r.findRepeats()
	}
	return records
}

// findRepeats marks the departures that are the one before again.
func (r *Record) findRepeats() {
	end := math.Inf(-1)
	r.each(func(c *Departure) {
		if c.Repeats = c.Start < end; !c.Repeats {
			end = c.End
		}
	})
}

// find fills the pulls of a record with their departures.
//
// Engine speed is no road speed during a departure: road speed is estimated without
// it first widely about every hit, then again as closely as the departures tell. How well the smoother fits is asked
// for where torque is known.
func (r *Record) find(torque bool) {
	var pulls []Pull
	var beside sync.WaitGroup
	beside.Go(func() {
		pulls = r.findPulls()
		r.findGeared()
	})
	r.learnNull()
	beside.Wait()
	r.learnSwitch()
	r.findIn(pulls)
	beside.Go(r.measureHeld)
	if torque {
		r.Fit = r.FitOf()
	}
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
