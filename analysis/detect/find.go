package detect

import (
	"math"

	"flywitness/analysis/motion"
)

// Record is the motion of one log with what was found in it.
type Record struct {
	*motion.Record
	Pulls  []Pull
	Spread float64 // by how much the statistic wanders where no clutch slips, at least 1: every standard deviation is multiplied by it

	held hold // wheel force over weight that the tyres were seen to hold; nothing before it is asked for
}

// Find finds the pulls of every record and the departures within them, measures them with force and says what each is. A record without
// samples stays empty.
func Find(motions []*motion.Record, f *motion.Force) []*Record {
	records := make([]*Record, len(motions))
	for i, m := range motions {
		records[i] = &Record{Record: m, Spread: 1}
		if m.Track.Len() > 0 {
			records[i].find()
		}
	}
	motion.EstimateGrade(motions, f)
	for _, r := range records {
		r.measureAll(f)
	}
	confirmed(records)
	for _, r := range records {
		r.each(func(c *Departure) { c.Alone = r.alone(c) })
	}
	return records
}

// find fills the pulls of a record with their departures. Engine speed is no road speed during a departure: road speed is estimated without
// it first widely about every hit, then again as closely as the departures tell.
func (r *Record) find() {
	r.Spread = r.nullSpread()
	r.Pulls = r.findPulls()
	hits := make([][][2]int, len(r.Pulls))
	for i := range r.Pulls {
		p := &r.Pulls[i]
		hits[i] = r.hits(p.Lo, p.Hi, p.Run.Index)
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
	r.Fit = r.FitOf()
}

// each visits every departure of a record.
func (r *Record) each(do func(c *Departure)) {
	for i := range r.Pulls {
		for q := range r.Pulls[i].Departures {
			do(&r.Pulls[i].Departures[q])
		}
	}
}

// measureAll measures and classifies the departures of a record.
func (r *Record) measureAll(f *motion.Force) {
	r.each(func(c *Departure) {
		r.measure(c, f)
		c.Kind = r.classify(c)
		c.Confidence = r.confidence(c)
	})
}

// confirmed turns wheelspin, and a clutch that was slow to take hold after a shift, into slip where the same logs hold the proof: a sure slip
// of the clutch, in any gear, at no more torque. Torque is wheel force over the gearing, which is the clutch's but for a factor that
// all events share; more than a third above what the clutch let go at is another gear.
func confirmed(records []*Record) {
	torque := func(r *Record, c *Departure) float64 {
		return r.push(c.run, c.Start-0.5, c.Start+1) / r.Track.Model.Gears[c.run.Index].K
	}
	lowest, highest := math.Inf(1), 0.0
	each := func(do func(r *Record, c *Departure)) {
		for _, r := range records {
			r.each(func(c *Departure) { do(r, c) })
		}
	}
	each(func(r *Record, c *Departure) {
		if c.Kind == KindSlip {
			x := torque(r, c)
			lowest, highest = min(lowest, x), max(highest, x)
		}
	})
	each(func(r *Record, c *Departure) {
		spun := c.Kind == KindWheelspin && c.locked && c.run.Gear >= 2
		slow := c.Kind == KindEngagement && c.run.Gear >= 3 && r.withoutLift(c) >= 1.5+r.Period
		if x := torque(r, c); (spun || slow) && x >= 0.95*lowest && x <= 1.3*highest {
			c.Kind = KindSlip
			c.Confidence = r.confidence(c)
		}
	})
}

// confidence of an event (0-1): how far its mean stands above what a locked clutch could show.
func (r *Record) confidence(c *Departure) float64 {
	w := r.test(c.lo, c.hi, c.run.Index)
	z := w.mean / w.sd
	x := 1 - math.Exp(-math.Max(0, z-threshold+1)/3)
	if c.Kind != KindSlip {
		x *= 0.3
	}
	return math.Min(0.99, x)
}
