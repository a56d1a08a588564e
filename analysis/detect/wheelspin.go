package detect

import (
	"math"
	"slices"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"

	"gonum.org/v1/gonum/stat/combin"
)

// Driven wheels that spin look like a clutch that slips wherever road speed is not theirs. Wheels let go at one
// force whatever the gear, a clutch at one torque: force over gearing. A drive tells them apart by the forces
// at which departures begin in several gears, and by what its tyres held elsewhere.

const (
	bendsFrom  = 0.65 // of the most that a tyre holds, from where it creeps by per cents
	patches    = 0.25 // standard deviation of the logarithm of grip within a drive. Common practice, no source
	forceSlope = 0.02 // of weight: the road's slope that a force is read on
	heldSD     = 0.1  // of the logarithm of the force that was seen to be held: slope and reading
	slippery   = 0.1  // share of hard pulls that are done on ice, snow or wet cobbles. Common practice, no source:
	slickFrom  = 0.05 // there driven wheels hold anything from this
	slickTo    = 0.4  // to this, as force over weight,
	dryHold    = 0.45 // elsewhere about this,
	drySD      = 0.35 // with this standard deviation of its logarithm
)

// spinning: the driven wheels slip instead of the clutch. They can be seen only where the speed is not theirs.
func spinning(r *Record, c *Departure) float64 {
	if c.run.Gear == 1 {
		return -sure
	}
	return -math.Log(gripBelow(c.onsetForce(r), r.grip())+1e-9) + r.pattern + r.Track.Model.DrivenNats
}

// gripBelow is the probability that tyres which held the force held in this drive let go at the force at
// somewhere in it: over the roads that there are, the share of those that are good for held, and of their
// patches those that are not for at. Both forces are read on an unknown slope.
func gripBelow(at, held float64) float64 {
	limit := at / bendsFrom // what the tyres held at most, if it was they
	sd, heldSD := math.Hypot(patches, forceSlope/at), math.Hypot(heldSD, forceSlope/held)
	const from, to, steps = 0.03, 1.2, 60
	sum, all := 0.0, 0.0
	for i := range steps {
		l := from * math.Pow(to/from, (float64(i)+0.5)/steps)
		z := math.Log(l/dryHold) / drySD
		w := (1 - slippery) * math.Exp(-z*z/2) / (drySD * math.Sqrt(2*math.Pi)) // per unit of ln l
		if l > slickFrom && l < slickTo {
			w += slippery * l / (slickTo - slickFrom)
		}
		w *= normalCDF(math.Log(l/held) / heldSD)
		all += w
		sum += w * normalCDF(math.Log(limit/l)/sd)
	}
	return sum / (all + 1e-12)
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

const (
	leastForce  = 0.01 // wheel force over weight of a car that hardly pulls
	farApart    = 9.0  // three standard deviations: one departure that stands alone says no more
	nearNothing = 1e-3 // wheel force over weight, from which logarithms begin
	heldFrom    = 12.0 // km/h; below, steps of road speed are too large
	heldShare   = 0.01 // of road speed that a tyre creeps by while it holds
)

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
	return stats.Normal(c.onsetForce(r)/k, forceSlope/k)
}

const (
	// of the logarithm of the force or torque at which departures begin: grip, heat, the slope, the reading
	patternSD  = 0.2
	patternCap = 6.0 // nats
)

// gearPattern weighs over all departures of a drive whether they begin at one torque, as those of a clutch, or
// at one force, as those of wheels, and which pulls passed without any: nats for the clutch.
func gearPattern(records []*Record) float64 {
	var force, torque []float64
	for _, r := range records {
		r.each(func(c *Departure) {
			if c.seen.locked && c.duration >= r.pick(shortQuick, shortSlow) {
				x := math.Log(c.onsetForce(r))
				force, torque = append(force, x), append(torque, x-math.Log(r.Track.Model.Gears[c.run.Index].K))
			}
		})
	}
	if len(force) == 0 {
		return 0
	}
	nats := apart(force) - apart(torque) + quietPulls(records, stats.Median(force), stats.Median(torque), len(force))
	return math.Max(-patternCap, math.Min(patternCap, nats))
}

// apart is how far values lie from their median, in nats.
func apart(x []float64) float64 {
	mid, sum := stats.Median(x), 0.0
	for _, v := range x {
		z := (v - mid) / patternSD
		sum += math.Min(farApart, z*z)
	}
	return sum / 2
}

// quietPulls weighs the pulls that passed without a departure: where the wheels pushed harder than they did at
// the n departures, but the clutch carried less, wheels would have spun; where it was the other way round, the
// clutch would have slipped. That n departures fall by chance on just their pulls and on none of the others has
// a probability of one over the number of ways.
func quietPulls(records []*Record, force, torque float64, n int) float64 {
	pushed, carried := 0, 0
	for _, r := range records {
		for i := range r.Pulls {
			p := &r.Pulls[i]
			if len(p.Departures) > 0 {
				continue
			}
			var h hold
			for q := p.Lo; q < p.Hi; q++ {
				h.push(r.Track.T[q], r.Phi[q], true)
			}
			f := math.Log(math.Max(h.most, nearNothing))
			t := f - math.Log(r.Track.Model.Gears[p.Run.Index].K)
			switch {
			case f > force && t < torque-quietMargin:
				pushed++
			case t > torque && f < force-quietMargin:
				carried++
			}
		}
	}
	return combin.LogGeneralizedBinomial(float64(pushed+n),
		float64(n)) - combin.LogGeneralizedBinomial(float64(carried+n), float64(n))
}

// quietMargin is by how much (logarithm) a pull must stay below what let go to count as passed for that reason.
const quietMargin = 0.1

// grip is the largest wheel force over weight that was held, be the clutch locked or not: what pushed the car went
// through its tyres.
func (r *Record) grip() float64 {
	r.measureHeld()
	return r.held.most
}

// capacity is the largest wheel force over weight and gearing, the clutch's torque but for a factor, that was
// held the same way.
func (r *Record) capacity() float64 {
	r.measureHeld()
	return r.carried.most
}

// measureHeld finds what was held, once.
func (r *Record) measureHeld() {
	if r.held.most > 0 {
		return
	}
	t := r.Track
	r.held.most, r.carried.most = nearNothing, 1e-6
	for _, run := range r.Runs {
		r.held.end()
		r.carried.end()
		k := t.Model.Gears[run.Index].K
		for i := run.Lo; i < run.Hi; i++ {
			locked := t.Clutch[i] == gearstate.Locked && t.SpeedKmh[i] > heldFrom &&
				math.Abs(t.Excess[i]) < 1+heldShare*t.SpeedKmh[i]
			r.held.push(t.T[i], r.Phi[i], t.SpeedKmh[i] > heldFrom)
			r.carried.push(t.T[i], r.Phi[i]/k, locked)
		}
	}
}

const (
	// of the torque that a clutch carried, at which it may slip another time: hot, or after another engagement
	weaker   = 0.6
	weakerSD = 0.2 // of its logarithm
)

// carriedMore: the clutch carried so much more at another time of this drive that it cannot be weak.
func carriedMore(r *Record, c *Departure) float64 {
	torque := c.onsetForce(r) / r.Track.Model.Gears[c.run.Index].K
	return sure + math.Log(normalCDF(math.Log(torque/(weaker*r.capacity()))/weakerSD)+1e-9)
}

// holdTime is how long (s) a force must be held to count as held.
const holdTime = 0.8

// hold finds the most that a value was held for holdTime: the greatest of the least values over windows of that
// length.
type hold struct {
	most  float64
	times []float64 // s, and
	past  []float64 // values of the present stretch, as far back as a window reaches
}

// push takes the next value; counts is false where it does not belong to a stretch.
func (h *hold) push(t, x float64, counts bool) {
	if !counts || x < h.most { // no window with this value in it holds more
		h.end()
		return
	}
	h.times, h.past = append(h.times, t), append(h.past, x)
	first := 0
	for first+1 < len(h.times) && t-h.times[first+1] >= holdTime {
		first++
	}
	h.times, h.past = h.times[first:], h.past[first:]
	if t-h.times[0] >= holdTime {
		h.most = slices.Min(h.past)
	}
}

// end ends a stretch.
func (h *hold) end() { h.times, h.past = h.times[:0], h.past[:0] }
