package detect

import (
	"math"
	"slices"

	"flywitness/analysis/stats"

	"gonum.org/v1/gonum/floats"
)

// smallOdds is what it is worth (nats) that a departure is smaller than what a foot or a gear change makes:
// little else takes the force away.
const smallOdds = 2.0

// withoutForce: whatever let the engine go, no clutch carried its torque meanwhile. A foot that stays down on the
// accelerator had not done it, or not for so long.
func withoutForce(r *Record, c *Departure) float64 {
	n := r.forceOdds(c)
	if c.PeakSlip <= pedalPeak {
		n += smallOdds
	}
	if c.seen.locked {
		n += math.Max(0, r.footKept(c)-bothFeet) / footTail
	}
	return n
}

// bothFeet is how long (s) drivers press both pedals at most, as a rule, who change gear at full throttle. Common
// practice, no source.
const bothFeet = 1.0

// together weighs the departures that nothing but a lack of force speaks against, and that last for longer than a foot
// stays on the pedal: the same clutch fades in each of them, or the same foot let each of them go. Those in which more
// force was kept than not are slip if all of them tell so.
func together(records []*Record) {
	sum := 0.0
	each := func(do func(c *Departure, force *Rival)) {
		for _, r := range records {
			r.each(func(c *Departure) {
				if c.duration >= pedalTime+r.Period && c.onlyRival(KindNoForce, Proven) {
					i := slices.IndexFunc(c.Rivals, func(v Rival) bool { return v.Kind == KindNoForce })
					do(c, &c.Rivals[i])
				}
			})
		}
	}
	each(func(_ *Departure, force *Rival) { sum += force.Nats })
	if sum < Proven {
		return
	}
	each(func(c *Departure, force *Rival) {
		if force.Nats >= 0 {
			force.Nats = math.Min(sure, sum)
			c.judge()
		}
	})
}

// The force that a sliding clutch carries is at least keepsLeast of what it held as a rule, and fadesLeast where its
// friction falls with heat or speed, as it does in one of five. A clutch that was let go carries anything up to
// dropMost of it, and less in the mean of a departure that outlasts the foot on its way; the road's slope may push a
// little the other way. Common practice, no source.
const (
	keepsLeast = 0.75
	fadesLeast = 0.4
	fadesOften = 0.2
	burnsOften = 0.05 // share of clutches that carry less still: soaked in oil, or far too hot
	dropMost   = 0.6
	dropLeast  = -0.05 // of weight
	forceSD    = 0.015 // of weight, of one reading: acceleration of a second, and what the slope changes
	forceTime  = 1.0   // s that one reading takes: twice the memory of the smoother
	forceCap   = 2.2   // nats of one reading: a bump or a late value is one, so it proves nothing alone
	tipRise    = 0.45  // of the force within that stands at the rise of a slip, when the foot went down meanwhile
)

// forceOdds weighs the wheel force in a departure: kept by a clutch that slides, gone when it was let go.
func (r *Record) forceOdds(c *Departure) float64 {
	e := &c.seen
	within := e.within
	if math.IsNaN(e.before) || math.IsNaN(within) {
		return 0
	}
	if !e.locked { // nothing to compare with
		return isSure(within >= PushedFrom)
	}
	if e.footDown && e.rise < tipRise*within { // a change of gear came between
		return -sure
	}
	held := e.held()
	readings := math.Max(1, c.duration/forceTime)
	sd := forceSD / math.Sqrt(readings)
	keeps := uniform(within, keepsLeast*held, math.Max(keepsMost*held, within), sd)
	fades := uniform(within, fadesLeast*held, keepsLeast*held, sd)
	burns := uniform(within, 0, fadesLeast*held, sd)
	slip := floats.LogSumExp([]float64{keeps + math.Log(1-fadesOften-burnsOften), fades + math.Log(fadesOften),
		burns + math.Log(burnsOften)})
	gone := uniform(within, dropLeast, math.Min(dropMost, footUsual/c.duration)*held, sd)
	return math.Max(-forceCap*readings, math.Min(forceCap*readings, slip-gone))
}

// held is what the clutch carried when it let go.
func (e *evidence) held() float64 {
	if e.rise > e.before {
		return e.rise
	}
	return e.before
}

// Kept is the share of what it had held that a clutch carried as it slid; nil where it was not locked before, the car
// was hardly pushed, or the foot went down meanwhile.
func (c *Departure) Kept() *stats.Estimate {
	held := c.seen.held()
	if !c.seen.locked || c.seen.footDown || math.IsNaN(c.seen.within) || !(held >= PushedFrom) {
		return nil
	}
	return stats.Normal(c.seen.within/held, math.Sqrt2*forceSD/held)
}

// uniform is the logarithm of the density at x of a value that lies anywhere in [lo, hi], read with a normal error.
func uniform(x, lo, hi, sd float64) float64 {
	hi = math.Max(hi, lo+sd)
	d := sd * math.Sqrt2
	p := 0.5 * (math.Erf((x-lo)/d) - math.Erf((x-hi)/d)) / (hi - lo)
	return math.Log(p + 1e-9)
}
