package detect

import (
	"math"

	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
)

// Kind is what a departure of engine speed from its gear is taken for.
type Kind string

// The kinds of event. Only Slip counts; the rest is reported as what it is.
const (
	KindSlip        Kind = "slip"
	KindEngagement  Kind = "engagement" // the clutch had not locked yet after the pedal
	KindShift       Kind = "shift"      // a late lift: the engine flares and another gear follows
	KindShort       Kind = "short"
	KindNoForce     Kind = "no_force"     // the car was not pushed meanwhile
	KindCarriedMore Kind = "carried_more" // the clutch carried much more at another time
	KindSignal      Kind = "speed_signal" // no more than the log shows where no clutch slips
	KindPedal       Kind = "pedal"        // a dab at the clutch pedal
	KindOtherGear   Kind = "other_gear"
	KindWheelspin   Kind = "wheelspin"
	KindCreep       Kind = "tyre_creep" // of the driven wheels on a loose road
)

// edge is the slip (fraction) at which an event begins and ends.
const edge = 0.01

// Departure is an event with what explains it: samples [lo, hi) of a run.
type Departure struct {
	Event
	Alone   bool    // proves slip without a second one
	Repeats bool    // the one before again: one that spans a lapse of load is found from the stretch on either side
	Odds    float64 // nats by which slip beats all of its rivals together
	Moving  bool    // the car had been rolling for a while
	Heat    float64 // in proportion to Energy; it needs no vehicle file, since force is told over weight
	// N m, of the onset torque's standard deviation what all of a car have in common
	OnsetShared float64

	run       *motion.Run
	lo, hi    int
	begin     float64 // s, when slip rose from nothing
	seen      evidence
	level     float64 // 75 % quantile of the excess, km/h
	speed     float64 // km/h, mean
	duration  float64
	hardRoad  float64 // how many pulls show a hard road: see onHardRoad
	creepOdds float64 // nats by which a clutch gave way and no tyre creeps, whatever the road
}

// departures turns the hits of a Stretch into events: wherever slip stays above 1 % about a hit, and stands out
// as a whole.
func (r *Record) departures(s *Pull, hits [][2]int) []Departure {
	var out []Departure
	for _, h := range hits {
		for _, b := range r.above(h[0], h[1], s.Run) {
			if n := len(out); n > 0 && b[0] < out[n-1].hi {
				continue // the same event, from the next hit
			}
			if b[1]-b[0] >= 2 && (r.test(b[0], b[1], s.Run.Index).hit() || len(r.hits(b[0], b[1], s.Run.Index)) > 0) {
				c := Departure{run: s.Run, lo: b[0], hi: b[1]}
				c.Input, c.Gear = r.Input, c.run.Gear
				c.Start, c.End = r.crossing(c.lo, c.run, -1), r.crossing(c.hi-1, c.run, 1)
				c.duration = c.End - c.Start
				out = append(out, c)
			}
		}
	}
	return out
}

// SlipAt is slip (fraction of engine speed) at sample i from the smoothed road speed.
func (r *Record) SlipAt(i int) float64 {
	t := r.Track
	g := t.Place(i)
	if g < 0 {
		return 0
	}
	n := t.RPM[i] / t.Model.Gears[g].K
	if n <= 0 {
		return 0
	}
	creep := t.SpeedKmh[i] + t.Excess[i] // n/k - creep
	return (creep - r.State(i).V) / n
}

// bridgeSlip is how long slip may dip below 1 % within one event, s: a step of road speed does that.
const bridgeSlip = 0.25

// above returns the stretches of samples, within the run, that meet [lo, hi) and in which slip stays above 1 %.
func (r *Record) above(lo, hi int, run *motion.Run) [][2]int {
	t := r.Track.T
	for lo > run.Lo && r.SlipAt(lo-1) >= edge {
		lo--
	}
	for hi < run.Hi && r.SlipAt(hi) >= edge {
		hi++
	}
	var out [][2]int
	for i := lo; i < hi; i++ {
		if r.SlipAt(i) < edge {
			continue
		}
		if n := len(out); n > 0 && (i == out[n-1][1] || t[i]-t[out[n-1][1]-1] <= bridgeSlip+r.Period) {
			out[n-1][1] = i + 1
		} else {
			out = append(out, [2]int{i, i + 1})
		}
	}
	return out
}

// measure fills the numbers of a Departure.
func (r *Record) measure(c *Departure, f *motion.Force) {
	t := r.Track
	var sum, energy float64
	var excess []float64
	have := f.Arm(c.run.Gear) > 0
	for i := c.lo; i < c.hi; i++ {
		sum += 100 * r.SlipAt(i)
		excess = append(excess, t.Excess[i])
		if i == c.lo {
			continue
		}
		rad := math.Max(0, r.SlipAt(i)) * t.RPM[i] * math.Pi / 30
		c.Heat += math.Max(0, r.Phi(i)) / t.Model.Gears[c.run.Index].K * rad * (t.T[i] - t.T[i-1])
		if have {
			torque := r.ClutchTorque(f, c.run.Gear, i)
			energy += math.Max(0, torque) * rad * (t.T[i] - t.T[i-1])
		}
	}
	c.MeanSlip = sum / float64(c.hi-c.lo)
	r.peak(c, c.lo, c.hi)
	c.level = stats.Nearest(excess, 0.75)
	if have {
		c.Energy = &energy
	}
	c.speed = r.MeanV(c.lo, c.hi)
	c.seen = r.evidenceOf(c)
	c.Moving = r.moving(c.lo, c.run.Index)
	c.onset(r, f)
}

// peak fills the most slip of a departure in samples [lo, hi) of it: a mean of three, so that one step of road speed
// does not make it.
func (r *Record) peak(c *Departure, lo, hi int) {
	c.PeakSlip, c.PeakSlipRPM = 0, 0
	for i := lo; i < hi; i++ {
		a, b := max(lo, i-1), min(hi, i+2)
		p := 0.0
		for j := a; j < b; j++ {
			p += r.SlipAt(j)
		}
		if p /= float64(b - a); 100*p > c.PeakSlip {
			c.PeakSlip, c.PeakSlipRPM = 100*p, p*r.Track.RPM[i]
		}
	}
}

// comesDown is how fast (rpm/s) an engine falls to its gear that a clutch takes hold of; a slip under load does not
// end so. Common practice, no source.
const comesDown = 1000.0

// goneFor is how long (s, and a value) the push on a car is gone once a foot is on the clutch pedal; a bump or a step
// of road speed takes it for less. Common practice, no source.
const goneFor = 0.4

// peakBetweenChanges takes the peak of slip from where the change of gear is over that went before, since until then
// the engine came down to its gear, to where the next one begins: with the clutch open and gas left, an engine runs up
// by thousands of rpm, and nothing pushes the car.
func (r *Record) peakBetweenChanges(c *Departure) {
	t := r.Track.T
	lo := c.lo
	for c.run.FromOpen && lo < c.hi &&
		(t[lo]-t[c.run.Lo] < afterChange+r.Period || r.Track.RPMRate[lo] < -comesDown) {
		lo++
	}
	if lo == c.hi {
		lo = c.lo
	}
	if hi := r.letGo(c, lo); lo > c.lo || hi < c.hi {
		r.peak(c, lo, hi)
	}
}

// letGo is the sample of a departure, after one that is pushed from sample lo on, from which less goes through the
// clutch than any carries that slides; its end where none is.
func (r *Record) letGo(c *Departure, lo int) int {
	t := r.Track.T
	pushed, gone := false, -1
	for i := lo; i < c.hi; i++ {
		switch {
		case !(r.Phi(i) < fadesLeast*c.seen.within):
			pushed, gone = true, -1
		case pushed && gone < 0:
			gone = i
		}
		if gone >= 0 && (i == c.hi-1 || t[i]-t[gone] >= goneFor+r.Period) {
			return gone
		}
	}
	return c.hi
}

// crossing interpolates where slip passes 1 % next to sample i, outwards in direction d.
func (r *Record) crossing(i int, run *motion.Run, d int) float64 {
	t := r.Track.T
	j := i + d
	if j < run.Lo || j >= run.Hi {
		return t[i]
	}
	a, b := r.SlipAt(i), r.SlipAt(j)
	if a == b || b >= edge {
		return t[i]
	}
	x := math.Max(0, math.Min(1, (a-edge)/(a-b)))
	return t[i] + x*(t[j]-t[i])
}
