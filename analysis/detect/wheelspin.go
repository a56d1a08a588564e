package detect

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"
)

// Driven wheels that spin look like a clutch that slips wherever road speed is not theirs. Wheels let go at one
// force whatever the gear, a clutch at one torque: force over gearing. A drive tells them apart by the forces
// at which departures begin, and by what was held elsewhere.

// trial is one time that tyres and clutch were put to the test together: up to a force in a gear all held, or from
// it on one of them gave way.
type trial struct {
	t      float64 // s of its log, and
	input  int     // which
	force  float64 // logarithm of wheel force over weight, and
	torque float64 // of that over gearing
	gave   bool
	creeps float64    // probability that something which seems to give way are tyres that creep, while all holds
	dry    bool       // the road is told to be dry
	lasted float64    // s for which the engine is known to have worked while something gave way,
	far    bool       // on the move, and so far that few leave wheels to it
	read   float64    // standard deviation of the logarithm of the force as it is read, on a slope that is not known
	ahead  []possible // of an engine that ran ahead of its gears: see ahead.go,
	slides float64    // and how likely it is that tyres or clutch slid at all
}

// spinning: the driven wheels slip instead of the clutch. They can be seen only where the speed is not theirs.
func spinning(r *Record, c *Departure) float64 {
	if c.run.Gear == 1 {
		return -sure
	}
	nats := r.clutchOdds
	if !anyGave(r.trials) && tooShort(r, c) > 0 { // the only trial is this one
		nats = clutchOrWheels(with(r.trials, r.trialOf(c)))
	}
	return nats + r.Track.Model.DrivenNats
}

// tries tells whether a departure is a trial: in a gear in which no car sets off, and from a clutch that held before
// or under a foot that stayed down for longer than it takes to let the clutch in.
func (r *Record) tries(c *Departure) bool {
	if c.run.Gear == 1 || c.duration < r.pick(shortQuick, shortSlow) {
		return false
	}
	return c.seen.locked || c.Moving && !r.inUnknownGear(c) && r.footKept(c) >= footUsual+r.Period
}

// findTrials lists the trials of a record: its departures, and the most that was held in each stretch in gear without
// one. What was held in the moment before a departure is that departure's own.
func (r *Record) findTrials() []trial {
	r.measureHeld()
	var out []trial
	gave := map[*motion.Run]float64{} // to which time
	var tried []motion.Span
	r.each(func(c *Departure) {
		if r.tries(c) && c.Start >= gave[c.run] { // two pulls of one run may meet in it
			out, gave[c.run] = append(out, r.trialOf(c)), c.End
			tried = append(tried, motion.Span{Start: c.Start, End: c.End})
		}
	})
	for i := range r.Runs {
		run, h := &r.Runs[i], r.held[i]
		at := run.Lo
		if gave[run] > 0 {
			h.clutch, at = 0, run.Hi-1
		}
		if least, read := h.grip(); least > leastForce {
			out = append(out, r.trialAt(at, run.Index, least, read, h.clutch, false))
		}
	}
	for i := range r.ahead {
		if a := &r.ahead[i]; !slices.ContainsFunc(tried, a.meets) {
			out = append(out, r.trialAhead(a))
		}
	}
	slices.SortStableFunc(out, func(a, b trial) int { return cmp.Compare(a.t, b.t) })
	return out
}

// trialOf is the trial of a departure. What slides carries what it can while the foot stays down and less once it
// lifts; what it began with from a clutch that had not locked was the foot's doing.
func (r *Record) trialOf(c *Departure) trial {
	force := c.onsetForce(r)
	switch {
	case !c.seen.locked && !math.IsNaN(c.seen.within):
		force = c.seen.within
	case c.seen.footDown:
		force = r.slidesAt(c)
	}
	x := r.trialAt(min(r.at(c.Start), r.Track.Len()-1), c.run.Index, force, force, force, true)
	x.lasted = r.longest(c, r.loadedBeside)
	x.creeps = 1 / (1 + math.Exp(creeping(r, c)))
	x.far = x.lasted > CaughtIn && c.PeakSlip >= farFrom && c.speed >= movingFrom
	return x
}

// slidesAt is the most wheel force over weight that was held during a departure; in its midst, where it was too short.
func (r *Record) slidesAt(c *Departure) float64 {
	most := r.mostHeld(r.forces(c.lo, c.hi, nil), c.lo, func(int) bool { return true })
	if most > 0 || math.IsNaN(c.seen.within) {
		return math.Max(leastForce, most)
	}
	return math.Max(leastForce, c.seen.within)
}

// trialAt is a trial of tyres and clutch by wheel force over weight in a place of the ladder at sample i, told by
// a force that was read. The slope that is told from the engine's load would be wrong just where wheels spin.
func (r *Record) trialAt(i, place int, tyres, read, clutch float64, gave bool) trial {
	log := func(force float64) float64 { return math.Log(math.Max(leastForce, force)) }
	return trial{t: r.Track.T[i], input: r.Input, gave: gave, dry: r.told.DryRoad,
		read:  vehicle.UsualSlopeSD / math.Max(leastForce, read),
		force: log(tyres), torque: log(clutch) - math.Log(r.Track.Model.Gears[place].K)}
}

// weighTrials gives records what all of their trials tell, with those of earlier logs.
func weighTrials(records []*Record, before []trial) {
	trials := slices.Clone(before)
	for _, r := range records {
		trials = append(trials, r.findTrials()...)
	}
	odds := clutchOrWheels(trials)
	for _, r := range records {
		r.trials, r.clutchOdds = trials, odds
	}
}

// with puts one more trial into its place.
func with(trials []trial, x trial) []trial {
	at := slices.IndexFunc(trials, func(y trial) bool { return y.input == x.input && y.t > x.t || y.input > x.input })
	if at < 0 {
		at = len(trials)
	}
	return slices.Insert(slices.Clone(trials), at, x)
}

// All of these: common practice, no source.
const (
	stepsOfGrip = 48    // of the logarithm of that at which clutch or tyres give way, no wider than the least scatter
	gripFrom    = 0.012 // wheel force over weight
	gripTo      = 1.0
	holdsFrom   = weaker // of the greatest torque tried, that a clutch holds which is weak: more never went through it
	holdsTo     = 1.1    // but for the reading
	roadTime    = 600.0  // s after which a road is as likely another one,
	coolTime    = 120.0  // and a clutch as hot or as cool as it was not
	hotFrom     = 0.1    // of the greatest torque tried, that a clutch which fades may hold at least
	trialsCap   = 6.0    // nats, the most that the trials of a drive may tell
	misread     = 0.005  // share of the trials that nothing explains
	bendsFrom   = 0.8    // of the most that a tyre holds, from where it creeps by per cents
	brakesShow  = 0.5    // of the force of all brakes, that a driven axle holds of it at least: its share of the weight
	slippery    = 0.15   // share of hard pulls that are done on ice, snow or wet cobbles, where winters are:
	slickFrom   = 0.02   // there driven wheels hold anything from this, with a trailer behind or up a slope,
	slickTo     = 0.4    // to this, as force over weight,
	dryHold     = 0.45   // elsewhere about this,
	drySD       = 0.35   // with this standard deviation of its logarithm
	paved       = 0.5    // what they hold on a paved road that is told to be dry: half of the weight, at a friction of 1,
	pavedSD     = 0.2    // with this standard deviation of its logarithm
	toldWrong   = 0.02   // share of roads that are told to be dry and were not, all the way
	caughtTail  = 0.6    // s by which the share of those falls to a third who take longer than CaughtIn
	keepsFoot   = 0.5    // share of drivers who leave the foot where it is: on a slope, or with traction control;
	keepsFar    = 0.25   // and of those who do on the move, with wheels that spin freely and steer no longer:
	movingFrom  = 40.0   // km/h, faster than cars struggle up a slope,
	farFrom     = 20.0   // %, more than traction control lets them
)

// CaughtIn is how long (s) who hears his wheels spin takes at most to lift, as a rule. Common practice, no source.
const CaughtIn = 1.8

// scatters are what the standard deviation may be of the logarithm of that at which the same clutch, or the same
// tyres, give way from one time to the next: the reading alone, or heat, patches of the road and its slope beside. All
// as likely.
var scatters = []float64{0.07, 0.14, 0.28}

// flatnesses are what the slopes of a drive may be, as shares of what is usual, all as likely: on steep ones some of a
// hundred pulls that all were held would have been harder than what gave way.
var flatnesses = []float64{0.25, 1}

// clutchOrWheels is by how many nats trials are those of a clutch, which gives way at one torque whatever the gear,
// and not those of wheels, which do at one force as long as the road stays the same. What is not known is integrated
// over.
func clutchOrWheels(trials []trial) float64 {
	if !anyGave(trials) {
		return 0
	}
	n := len(scatters) * len(flatnesses)
	clutch, wheels := make([]float64, n), make([]float64, n)
	var all sync.WaitGroup
	for i, flat := range flatnesses {
		there := slices.Clone(trials)
		for k := range there {
			there[k].read *= flat
		}
		for k, sd := range scatters {
			at := i*len(scatters) + k
			all.Go(func() { clutch[at] = byClutch(there, sd) })
			all.Go(func() { wheels[at] = byWheels(there, sd) })
		}
	}
	all.Wait()
	nats := floats.LogSumExp(clutch) - floats.LogSumExp(wheels) - leftSpinning(trials)
	return math.Max(-trialsCap, math.Min(trialsCap, nats))
}

// leftSpinning is the log likelihood that wheels were left spinning for so long as something gave way in trials: most
// drivers lift, the others do not, all through a drive.
func leftSpinning(trials []trial) float64 {
	caught, keeps := 0.0, keepsFoot
	for _, x := range trials {
		caught -= (1 - x.creeps) * math.Max(0, x.lasted-CaughtIn) / caughtTail
		if x.far {
			keeps = keepsFar
		}
	}
	return math.Log(keeps + (1-keeps)*math.Exp(caught))
}

func anyGave(trials []trial) bool {
	return slices.ContainsFunc(trials, func(x trial) bool { return x.gave })
}

// byClutch is the log likelihood of a clutch, of which some fade.
func byClutch(trials []trial, sd float64) float64 {
	most := math.Inf(-1)
	for _, x := range trials {
		most = math.Max(most, x.torque)
	}
	return floats.LogSumExp([]float64{byOneTorque(trials, most, sd) + math.Log(1-fadesOften),
		byFading(trials, most, sd) + math.Log(fadesOften)})
}

// byOneTorque is the log likelihood of a clutch that gives way at one torque, which is not known: most is the
// logarithm of the greatest tried.
func byOneTorque(trials []trial, most, sd float64) float64 {
	holds := steps(holdsFrom, holdsTo)
	all, product, here := make([]float64, stepsOfGrip), make([]float64, stepsOfGrip), make([]float64, stepsOfGrip)
	for some := range slices.Chunk(trials, factors) {
		for k := range product {
			product[k] = 1
		}
		for _, x := range some {
			x.behind(most, holds[:], sd, here)
			floats.Mul(product, here)
		}
		for k, p := range product {
			all[k] += math.Log(p)
		}
	}
	return floats.LogSumExp(all) - math.Log(stepsOfGrip)
}

// byFading is that of one that holds ever less, by far, as it is kept hot, and more again as it cools.
func byFading(trials []trial, most, sd float64) float64 {
	holds := steps(hotFrom, holdsTo)
	even := func(trial) []float64 { return evenly() }
	return changing(trials, coolTime, even, func(x trial, likely []float64) {
		x.behind(most, holds[:], sd, likely)
	})
}

// byWheels is the log likelihood of wheels on a road whose grip is not known, and may be another one later.
func byWheels(trials []trial, sd float64) float64 {
	grip := steps(gripFrom, gripTo)
	roads := func(x trial) []float64 { return roadsOf(x.dry) }
	return changing(trials, roadTime, roads, func(x trial, likely []float64) {
		x.on(grip[:], sd, likely)
	})
}

// on fills in how likely a trial is on tyres that give way at each of some forces, behind by a clutch that does at
// each of some shares of a torque, most.
func (x trial) on(grip []float64, sd float64, out []float64) {
	if x.ahead == nil {
		x.likely(x.force, grip, sd, out)
		return
	}
	for k, g := range grip {
		out[k] = x.aheadOn(g, math.Hypot(sd, x.read))
	}
}

func (x trial) behind(most float64, holds []float64, sd float64, out []float64) {
	if x.ahead == nil {
		x.likely(x.torque-most, holds, sd, out)
		return
	}
	for k, h := range holds {
		out[k] = x.aheadBehind(most+h, math.Hypot(sd, x.read))
	}
}

// changing is the log likelihood of trials of what gives way at a value that is not known, and after a time (s) is as
// likely another one: of the steps of grip, of which each has a share, and at which a trial is so likely.
func changing(trials []trial, after float64, shares func(x trial) []float64,
	likely func(x trial, out []float64)) (nats float64) {
	now, here := make([]float64, stepsOfGrip), make([]float64, stepsOfGrip)
	for i, x := range trials {
		other, share := 1.0, shares(x)
		if i > 0 && trials[i-1].input == x.input {
			other = 1 - math.Exp((trials[i-1].t-x.t)/after)
		}
		likely(x, here)
		for k := range now {
			now[k] = (now[k] + other*(share[k]-now[k])) * here[k]
		}
		sum := floats.Sum(now)
		floats.Scale(1/sum, now)
		nats += math.Log(sum)
	}
	return nats
}

// evenly are equal shares of the steps of grip.
var evenly = sync.OnceValue(func() []float64 { return shares(func(float64) float64 { return 1 }) })

// steps are the logarithms of the middles of the steps between two values.
func steps(from, to float64) (out [stepsOfGrip]float64) {
	for k := range out {
		out[k] = math.Log(from) + math.Log(to/from)*(float64(k)+0.5)/stepsOfGrip
	}
	return out
}

// roadsOf are the shares of roads on which driven wheels begin to slip at each step of grip: of all, or of those that
// are told to be dry.
func roadsOf(dry bool) []float64 {
	if dry {
		return dryRoads()
	}
	return allRoads()
}

var (
	allRoads = sync.OnceValue(func() []float64 { return shares(anyRoad) })
	dryRoads = sync.OnceValue(func() []float64 {
		out := shares(func(holds float64) float64 { return logNormal(holds, paved, pavedSD) })
		for k, any := range allRoads() {
			out[k] += toldWrong * (any - out[k])
		}
		return out
	})
)

// anyRoad is the density of the logarithm of what driven wheels hold on a road that nothing is told of.
func anyRoad(holds float64) float64 {
	density := (1 - slippery) * logNormal(holds, dryHold, drySD)
	if holds > slickFrom && holds < slickTo {
		density += slippery * holds / (slickTo - slickFrom)
	}
	return density
}

// logNormal is the density of the logarithm of x about that of a median.
func logNormal(x, median, sd float64) float64 { return normal(math.Log(x/median), sd) }

// shares are those of the steps of grip, by a density of what driven wheels hold.
func shares(density func(holds float64) float64) []float64 {
	out := make([]float64, stepsOfGrip)
	for k, grip := range steps(gripFrom, gripTo) {
		out[k] = density(math.Exp(grip) / bendsFrom)
	}
	floats.Scale(1/floats.Sum(out), out)
	return out
}

// likely fills in how likely a trial is where what is tried gives way at each of some values, spread by sd, all
// logarithms: the density of the value at which it gave way, the probability that more was needed.
func (x trial) likely(at float64, gives []float64, sd float64, out []float64) {
	sd = math.Hypot(sd, x.read)
	for k, g := range gives {
		out[k] = misread + (1-misread)*stats.NormalCDF((g-at)/sd)
		if x.gave {
			gave := misread + (1-misread)*distuv.UnitNormal.Prob((at-g)/sd)/sd
			out[k] = gave + x.creeps*(out[k]-gave)
		}
	}
}

// factors are so many probabilities of trials that their product is a number still, and one logarithm does for them.
const factors = 64

// leastForce is wheel force over weight of a car that hardly pulls.
const leastForce = 0.01

// onsetForce is wheel force over weight at which a departure begins: about its start, or in its midst where the foot
// went down at its start, since the force of before was not what let it go.
func (c *Departure) onsetForce(r *Record) float64 {
	if c.seen.footDown {
		return math.Max(leastForce, c.seen.within)
	}
	x := r.forceIn(c.run.Lo, c.run.Hi, c.Start-0.7, c.Start+0.7, nil)
	if math.IsNaN(x) {
		return leastForce
	}
	return math.Max(leastForce, x)
}

// OnsetDemand is wheel force over weight and gearing, which is the engine's torque but for a factor, about the start
// of a departure, as the road's slope leaves it.
func (r *Record) OnsetDemand(c *Departure) *stats.Estimate {
	k := r.Track.Model.Gears[c.run.Index].K
	return stats.Normal(c.onsetForce(r)/k, vehicle.UsualSlopeSD/k)
}
