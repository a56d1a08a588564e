package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
	"flywitness/internal/parts"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/stat/distuv"
)

// push is the force at the wheels through a change of gear: what a break takes from it, the car's speed lacks
// afterwards, however seldom values come.
type push struct {
	took    float64 // s from the last value of one gear to the first of the next
	force   float64 // mean of the wheel forces over weight beside it
	apart   float64 // half of their difference, as a share of force
	through float64 // the mean force in between, as a share of force; NaN of a change that was not made under force
}

const (
	forceBeside = 0.03 // wheel force over weight on both sides of a change that tells something
	shiftBeside = 1.0  // s on either side over which force is read, and one interval:
	sideValues  = 1.1  // the force further away is another one

	// s that a foot breaks the force: a change that seems to take longer, because values are far apart, shows only a
	// part of it
	breakTime = 0.8
	// of the force before: the car rolls with the clutch down, up or down the hill that the force was read on,
	openLow  = -0.3
	openHigh = 0.8 // or the foot comes up late and the force is hardly gone
	// of the force before, through a gearbox that hands it over: its control unit takes torque from the engine, and the
	// engine that is slowed down by a taller gear pushes the car meanwhile
	wholeLeast, wholeMost = 0.9, 1.3
	wholeSD               = 0.1 // standard deviation of that, of the force beside,
	besideSD              = 0.01
	endSD                 = 0.15 // and of road speed at either end of a change, km/h
	// share of the readings that something else made, a bump or a late stamp: anything from all of the force the
	// other way to three times of it, so over a range of strayOver
	strays, strayOver = 0.005, 4.0
	leastChange       = 0.05 // s; a change that takes less takes no time
	hiddenLeast       = 0.01 // share of the logs in which breaks of force are hidden, whatever the link
)

// sight is how well a log shows the changes of gear that were made in it.
type sight struct {
	period float64
	offset float64 // s by which engine speed, that tells the gear, stands apart from road speed, that tells the force,
	lagSD  float64 // and how well that is known
	// standard deviations of the share of force and load through what looks like a change of gear and is none
	force, load float64
}

// looked is the sight of a record whose departures were found, read once.
func (r *Record) looked() sight {
	if r.look == nil {
		s := r.sight()
		r.look = &s
	}
	return *r.look
}

// sight reads the middle of gears as if the gear were changed there, one reading after the other.
func (r *Record) sight() sight {
	s := sight{period: r.Period, offset: r.Track.Apart, lagSD: r.Track.Model.LagSD}
	runs := r.someRuns()
	each := make([]middles, len(runs))
	parts.Every(len(runs), func(q int) { each[q] = r.middlesOf(*runs[q]) })
	var forces, loads []float64
	for _, m := range each {
		forces, loads = append(forces, m.forces...), append(loads, m.loads...)
	}
	s.force, s.load = spreadOf(forces), spreadOf(loads)
	return s
}

// manyRuns of a drive tell what all of them have in common.
const manyRuns = 1000

// someRuns are runs from all over a drive, of a long one not all.
func (r *Record) someRuns() (some []*motion.Run) {
	for q := 0; q < len(r.Runs); q += 1 + len(r.Runs)/manyRuns {
		some = append(some, &r.Runs[q])
	}
	return some
}

// middles are the shares of force and of load through what looks like changes of gear in a run.
type middles struct{ forces, loads []float64 }

func (r *Record) middlesOf(run motion.Run) (m middles) {
	t := r.Track.T
	took := math.Max(breakTime, sightValues*r.Period)
	for lo, hi := run.Lo+1, run.Lo+1; hi+1 < run.Hi; lo = hi {
		for hi++; hi+1 < run.Hi && t[hi]-t[lo] < took-sightSlack; {
			hi++
		}
		a, b := run, run
		a.Hi, b.Lo = lo+1, hi
		if p := r.pushThrough(&a, &b); !math.IsNaN(p.through) {
			m.forces = append(m.forces, p.through)
		}
		if dip, _ := r.loadDip(&a, &b); !math.IsNaN(dip) {
			m.loads = append(m.loads, dip)
		}
	}
	return m
}

const (
	// intervals that a change of gear takes on a slow link, where its middle may fit no gear, and s by which it may be
	// shorter
	sightValues, sightSlack = 2.0, 0.1
	leastLagSD              = 0.015        // s
	fewestSights            = 8            // readings that tell a spread
	oneSD, onePlusSD        = 0.159, 0.841 // quantiles one standard deviation below the middle of a normal, and above
)

// spreadOf is the standard deviation of readings, outliers left out; 0 of too few.
func spreadOf(x []float64) float64 {
	if len(x) < fewestSights {
		return 0
	}
	return (stats.Nearest(x, onePlusSD) - stats.Nearest(x, oneSD)) / 2
}

// hidden is the share of the logs of this kind in which the breaks of force lie beside where they are looked for.
func (s sight) hidden() float64 {
	missed := distuv.UnitNormal.CDF((s.offset - breakTime/2) / math.Max(s.lagSD, leastLagSD))
	return hiddenLeast + (1-hiddenLeast)*missed
}

// pushThrough is the force at the wheels through a change from one run to the next.
func (r *Record) pushThrough(a, b *motion.Run) push {
	t := r.Track.T
	from, to := a.Hi-1, b.Lo
	side := math.Max(shiftBeside, sideValues*r.Period)
	i, j := from, to
	gap := r.Track.Model.Gap()
	for i > a.Lo && (t[from]-t[i-1] <= side || i == from && t[from]-t[i-1] <= gap) {
		i--
	}
	for j+1 < b.Hi && (t[j+1]-t[to] <= side || j == to && t[j+1]-t[to] <= gap) {
		j++
	}
	p := push{took: math.Max(leastChange, t[to]-t[from]), through: math.NaN()}
	before, after := r.gained(i, from, t[from]-t[i]), r.gained(to, j, t[j]-t[to])
	if !(math.Min(before, after) >= forceBeside) {
		return p
	}
	p.force = (before + after) / 2
	p.apart = math.Abs(before-after) / 2 / p.force
	p.through = r.gained(from, to, p.took) / p.force
	return p
}

// gained is the mean wheel force over weight from one sample to another, by the speed that the car gained; NaN where
// they are one.
func (r *Record) gained(from, to int, took float64) float64 {
	x, y := r.State(from), r.State(to)
	if to == from {
		return math.NaN()
	}
	return gearstate.PhiFromAcceleration((y.V-x.V)/took, (x.V+y.V)/2)
}

// sd is the standard deviation of the force through a change, in a share of which one gear's force or the other's is
// there: when it gives way is not known.
func (p push) sd(s sight, share float64) float64 {
	ends := endSD * math.Sqrt2 / p.took / 3.6 / vehicle.Gravity
	between := share * p.apart
	read := math.Max(s.force*s.force, wholeSD*wholeSD+(besideSD*besideSD+ends*ends)/(p.force*p.force))
	return math.Sqrt(read + between*between/3)
}

// forceGone is by how many nats the force through a change is that of a break.
func (p push) forceGone(s sight) float64 {
	if math.IsNaN(p.through) {
		return 0
	}
	seen := math.Min(1, breakTime/p.took)
	inside := math.Max(0, 1-(s.offset+s.lagSD)/breakTime) // of the break, at least
	lo, hi := 1-seen*(1-openLow), 1-inside*seen*(1-openHigh)
	const stray = strays / strayOver
	gone := (1-strays)*math.Exp(uniform(p.through, lo, hi, p.sd(s, 1-seen))) + stray
	kept := (1-strays)*math.Exp(uniform(p.through, wholeLeast, wholeMost, p.sd(s, 1))) + stray
	return math.Log(gone / kept)
}

// enteredForce is the wheel force over weight on both sides of a gear that was entered under force.
const enteredForce = 0.05

// unbroken tells whether a gear was gone over to under force, and without a break of it.
func (p push) unbroken(s sight) bool {
	return p.took <= shiftWithin+s.period && p.force >= enteredForce && p.forceGone(s) < 0
}
