package detect

import (
	"math"
	"sync"

	"flywitness/internal/parts"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"
)

// Tyres that carry force turn faster than the road goes by: by a per cent or two on a hard road, by several on a
// loose one, and by ten and more on snow where the force comes near what it holds. Where road speed is not theirs that
// looks like a clutch that slips. But creep follows the force all along, before a departure, within and after it; a
// clutch is locked until it gives way, and locks again.

// All of these: common practice, no source.
const (
	looseCreep  = 0.45  // of speed per wheel force over weight, that a driven axle creeps by at most, on gravel or snow
	looseOften  = 0.1   // share of hard pulls on such roads
	creepSlope  = 0.075 // rise of the road, one way or the other, that acceleration does not show at most
	creepMisses = 0.2   // of the creep, by which its curve over force misses it
	alikeForce  = 0.8   // of the force of a departure that a pull carries which shows what road it was on,
	hardShare   = 0.4   // and of its creep, below which the road was a hard one
	creepLearnt = 0.01  // of road speed, by which a gear that was learnt on such a road has taken creep for its ratio
	straight    = 0.3   // of what wheels hold, up to which creep is as good as in proportion to the force
	creepBeside = 3.0   // s before and after a departure in which there is creep as well
	overrun     = -0.06 // force over weight of an engine that is dragged along; brakes take more, and all wheels creep
	creepTime   = 0.5   // s that one reading of the excess stands for
	creepSteps  = 15    // of creep from nothing to the most
	hillSteps   = 3     // of slope on either side of none
	nearSteps   = 8     // of what driven wheels hold at most on a slippery road, from slickFrom to slickTo,
	nearCreep   = 3     // and of creep there, on which what is near its limit hardly depends
	roadEach    = 3.0   // nats, the most that one departure tells of the road for the others,
	roadCap     = 5.0   // and that all of them tell: nineteen in twenty of a road that is loose, since it may change
)

// A road is what a driven axle creeps by at little force, of speed per force over weight, and holds at most of it.
type road struct{ per, holds float64 }

// creeps is the share of road speed by which tyres creep under a force over weight: in proportion to a small one, up
// to three times as far where all of the tread slides (brush model: Pacejka, Tyre and Vehicle Dynamics, chapter 3,
// from memory).
func (g road) creeps(force float64) float64 {
	share := math.Min(1, math.Abs(force)/g.holds)
	return math.Copysign(3*g.holds*g.per*(1-math.Cbrt(1-share)), force)
}

// looseRoads are the roads on which tyres creep by per cents, each as likely as the other: half of them hold far more
// than cars pull, on the others wheels are near what they hold.
var looseRoads = sync.OnceValues(func() (far, near []road) {
	const muchMore = 10 // of weight: creep stays in proportion
	creep := func(k, steps int) float64 { return looseCreep * (float64(k) + 0.5) / float64(steps) }
	for k := range creepSteps {
		far = append(far, road{creep(k, creepSteps), muchMore})
	}
	for q := range nearSteps {
		holds := slickFrom + (slickTo-slickFrom)*(float64(q)+0.5)/nearSteps
		for k := range nearCreep {
			near = append(near, road{creep(k, nearCreep), holds})
		}
	}
	return far, near
})

// creeping: the driven wheels creep, under the force of the departure and under that beside it. How often roads are
// loose the other departures of the drives tell as well.
func creeping(r *Record, c *Departure) float64 {
	if !r.Track.Model.MayCreep {
		return sure
	}
	often := looseOften / (1 + c.hardRoad) // where there are such pulls, roads are not loose
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
		var all []*Departure
		r.each(func(c *Departure) { all = append(all, c) })
		parts.Every(len(all), func(i int) {
			all[i].hardRoad = float64(r.onHardRoad(all[i]))
			all[i].creepOdds = r.clutchOrCreep(all[i])
		})
		for _, c := range all {
			loose += c.tellsLoose()
		}
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
	readings := r.creepReadings(c, creepLearnt/(1+c.hardRoad)) // of gears that were learnt on hard roads, if there are
	clutch := 0.0
	for _, x := range readings {
		clutch += x.weight * math.Log(0.5*normal(x.excess, x.sd)+0.5*math.Exp(uniform(x.excess, 0, 1.5*c.level, x.sd)))
	}
	far, near := looseRoads()
	return clutch - floats.LogSumExp([]float64{onRoads(far, readings), onRoads(near, readings)}) + math.Ln2
}

// onRoads is the log likelihood of readings on one of some roads, up hill or down.
func onRoads(roads []road, readings []stood) float64 {
	var all []float64
	slopes := math.Log(hillSteps / creepSlope) // one over the step, of which the densities of slopes are the shares
	for _, g := range roads {
		for q := -hillSteps; q <= hillSteps; q++ {
			hill := creepSlope * float64(q) / hillSteps
			sum := math.Log(normal(hill, vehicle.UsualSlopeSD))
			for _, x := range readings {
				sum += x.weight * math.Log(g.likely(x, hill)+misread*misread)
			}
			all = append(all, sum)
		}
	}
	return floats.LogSumExp(all) - math.Log(float64(len(roads))) - slopes
}

// likely is the density of a reading on a road: over the error of the force, since creep grows ever faster with it.
func (g road) likely(x stood, hill float64) float64 {
	f := x.force + hill
	if math.Abs(f) < straight*g.holds {
		return g.density(x, f)
	}
	return 0.25*g.density(x, f-forceSD) + 0.5*g.density(x, f) + 0.25*g.density(x, f+forceSD)
}

// density is that of a reading on a road under a force.
func (g road) density(x stood, force float64) float64 {
	makes := g.creeps(force) * x.speed
	return normal(x.excess-makes, math.Hypot(x.sd, creepMisses*makes))
}

// onHardRoad counts the pulls that carried as much force as a departure without the creep that it would be.
func (r *Record) onHardRoad(c *Departure) (n int) {
	per := func(lo, hi int) (force, share float64) {
		m := r.Means(lo, hi)
		return m.Creep / m.V, m.E / m.V
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
		if math.IsNaN(t.Excess[i]) || r.Phi(i) < overrun {
			continue
		}
		v := r.State(i).V
		out = append(out, stood{excess: t.Excess[i], sd: math.Hypot(r.test(i, i+1, c.run.Index).sd, learnt*v),
			force: r.Phi(i), speed: v, weight: math.Min(1, r.Period/creepTime)})
	}
	return out
}

// normal is the density at x of a normal error.
func normal(x, sd float64) float64 { return distuv.UnitNormal.Prob(x/sd) / sd }
