package detect

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"
)

// Tyres that carry force turn faster than the road goes by: by a per cent or two on a hard road, by several on a
// loose one. Where road speed is not theirs that looks like a clutch that slips a little. But creep follows the force
// all along, before a departure, within and after it; a clutch is locked until it gives way, and locks again.

// All of these: common practice, no source.
const (
	looseCreep  = 0.45 // of speed per wheel force over weight, that a driven axle creeps by at most, on gravel or snow
	looseOften  = 0.1  // share of hard pulls on such roads
	creepSlope  = 0.04 // rise of the road, one way or the other, that acceleration does not show
	creepMisses = 0.2  // of the creep, by which a straight line over force misses it
	alikeForce  = 0.8  // of the force of a departure that a pull carries which shows what road it was on,
	hardShare   = 0.4  // and of its creep, below which the road was a hard one
	creepLearnt = 0.01 // of road speed, by which a gear that was learnt on such a road has taken creep for its ratio
	creepBeside = 3.0  // s before and after a departure in which there is creep as well
	creepTime   = 0.5  // s that one reading of the excess stands for
	creepSteps  = 15   // of creep from nothing to the most
	hillSteps   = 2    // of slope on either side of none
	roadEach    = 3.0  // nats, the most that one departure tells of the road for the others,
	roadCap     = 3.0  // and that all of them tell: a road may change
)

// creeping: the driven wheels creep, under the force of the departure and under that beside it. How often roads are
// loose the other departures of the drives tell as well.
func creeping(r *Record, c *Departure) float64 {
	if !r.Track.Model.MayCreep {
		return sure
	}
	often := looseOften / (1 + float64(r.onHardRoad(c)))
	if r.told.DryRoad {
		often *= toldWrong
	}
	others := math.Max(-roadCap, math.Min(roadCap, r.looseOdds-c.tellsLoose()))
	return c.creepOdds - math.Log(often/(1-often)) - others + r.Track.Model.DrivenNats
}

// weighCreep weighs creep against a clutch in every departure of records, and gives them what all of them tell of the
// road, with those of earlier logs.
func weighCreep(records []*Record, before float64) {
	loose := before
	for _, r := range records {
		if !r.Track.Model.MayCreep {
			continue
		}
		r.each(func(c *Departure) {
			c.creepOdds = r.clutchOrCreep(c)
			loose += c.tellsLoose()
		})
	}
	for _, r := range records {
		r.looseOdds = loose
	}
}

// tellsLoose is what a departure tells of the road for the others, in nats by which it is a loose one.
func (c *Departure) tellsLoose() float64 {
	return -math.Max(-roadEach, math.Min(roadEach, c.creepOdds))
}

// clutchOrCreep is by how many nats the readings of a departure are those of a clutch that gives way, and not those of
// wheels that creep, whatever the road.
func (r *Record) clutchOrCreep(c *Departure) float64 {
	// where there are such pulls gears were learnt on hard roads
	readings := r.creepReadings(c, creepLearnt/(1+float64(r.onHardRoad(c))))
	clutch, creep := 0.0, make([]float64, 0, creepSteps*(2*hillSteps+1))
	for _, x := range readings {
		clutch += x.weight * math.Log(0.5*normal(x.excess, x.sd)+0.5*math.Exp(uniform(x.excess, 0, 1.5*c.level, x.sd)))
	}
	for k := range creepSteps {
		per := looseCreep * (float64(k) + 0.5) / creepSteps
		for q := -hillSteps; q <= hillSteps; q++ {
			hill := creepSlope * float64(q) / hillSteps
			sum := 0.0
			for _, x := range readings {
				makes := per * (x.force + hill) * x.speed
				sum += x.weight * math.Log(normal(x.excess-makes, math.Hypot(x.sd, creepMisses*makes))+misread*misread)
			}
			creep = append(creep, sum)
		}
	}
	return clutch - floats.LogSumExp(creep) + math.Log(float64(len(creep)))
}

// onHardRoad counts the pulls that carried as much force as a departure without the creep that it would be.
func (r *Record) onHardRoad(c *Departure) (n int) {
	per := func(lo, hi int) (force, share float64) {
		return r.MeanCreep(lo, hi) / r.MeanV(lo, hi), r.MeanE(lo, hi) / r.MeanV(lo, hi)
	}
	force, share := per(c.lo, c.hi)
	for i := range r.Pulls {
		p := &r.Pulls[i]
		f, e := per(p.Lo, p.Hi)
		if len(p.Departures) == 0 && f >= alikeForce*force && e < hardShare*share*f/force {
			n++
		}
	}
	return n
}

// stood is how far an engine stood off its line: the excess (km/h) at one sample with its error, the force over weight
// and the speed (km/h) that make creep, and what it counts.
type stood struct{ excess, sd, force, speed, weight float64 }

// creepReadings are the readings of a departure and beside it; learnt is the share of road speed by which a gear may
// be off.
func (r *Record) creepReadings(c *Departure, learnt float64) (out []stood) {
	t := r.Track
	from := c.Start - creepBeside
	if !c.seen.locked { // the clutch was still let in as the departure began
		from = c.Start + footUsual
	}
	for i := max(c.run.Lo, r.at(from)); i < c.run.Hi && t.T[i] <= c.End+creepBeside; i++ {
		if math.IsNaN(t.Excess[i]) {
			continue
		}
		v := r.State[i].V
		out = append(out, stood{excess: t.Excess[i], sd: math.Hypot(r.test(i, i+1, c.run.Index).sd, learnt*v),
			force: r.Phi(i), speed: v, weight: math.Min(1, r.Period/creepTime)})
	}
	return out
}

// normal is the density at x of a normal error.
func normal(x, sd float64) float64 { return distuv.UnitNormal.Prob(x/sd) / sd }
