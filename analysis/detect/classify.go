package detect

import (
	"flywitness/analysis/motion"
	"math"
)

// classify says what an event is. Only KindSlip is held against the clutch.
func (r *Record) classify(c *Departure) string {
	slow := r.Period > 0.25
	pick := func(fast, slowValue float64) float64 {
		if slow {
			return slowValue
		}
		return fast
	}
	d := c.duration
	switch {
	case d < pick(0.6, 0.9) || r.Period > Slowest && d < 10*r.Period: // a few values far apart prove nothing
		return KindShort
	case r.spin(c):
		return KindWheelspin
	case !c.locked && !r.endless(c):
		return KindEngagement
	case !c.relocks && (d < pick(1.2, 1.6) || c.PeakSlip > 8 && d < pick(2.2, 3)):
		return KindShift
	case r.dab(c):
		return KindPedal
	case r.otherGear(c):
		return KindOtherGear
	}
	return KindSlip
}

// alone tells whether an event proves slip without a second one: it lasts longer than anything else does, or it begins locked in its gear, lasts
// longer than a foot stays on the pedal, and either ends locked or is smaller than what a pedal does. On a slow link, where the pedal leaves few samples,
// it must be smaller.
func (r *Record) alone(c *Departure) bool {
	if c.Kind != KindSlip {
		return false
	}
	if r.withoutLift(c) > math.Max(2.5, 10*r.Period) {
		return true
	}
	small := c.PeakSlip < dabPeak
	if !c.locked || !c.relocks && !small || c.Confidence < 0.9 {
		return false
	}
	if r.Period > 0.25 {
		return c.duration >= 2+r.Period && small
	}
	return c.duration >= 1.5
}

// A foot on the clutch pedal lets the engine run away by more than dabPeak (% of its speed), and by more than longDabPeak when it stays for over a
// second and a value.
const dabPeak, longDabPeak = 9.0, 14.0

// dab tells a foot that touches the clutch pedal. It lets the engine run away for a moment, and the car with it stops being pushed: a
// clutch that slips by itself still carries most of the torque. A short one ends by itself, in the same gear, with the engine still under
// load; a clutch that slips at full load does not take hold again within a second.
func (r *Record) dab(c *Departure) bool {
	if c.PeakSlip <= dabPeak || c.PeakSlip <= longDabPeak && c.duration > 1.2+r.Period {
		return false
	}
	switch d := c.duration; {
	case d < 2 && c.PeakSlip > 1.8*c.MeanSlip:
		return true
	case d < 2.6+r.Period && (r.letGo(c) || r.grabs(c)):
		return true
	case d < 1.6+r.Period && r.flies(c):
		return true
	case d < shortDab(r.Period):
		return c.relocks && r.loadedAfter(c)
	}
	return false
}

// grabFall is how far engine speed falls under full load, rpm, before that is a clutch taking hold; a limiter lets it bounce less.
const grabFall = 800.0

// grabs tells whether the engine was pulled down during an event although the driver asked for full load: only a clutch that holds more than
// the engine gives does that, so it had been let go. A clutch that slips by itself lets the engine rise to where its torque is what the
// clutch carries, and stay there.
func (r *Record) grabs(c *Departure) bool {
	t := r.Track
	top := 0.0
	for i := c.lo; i < c.hi; i++ {
		if !(t.Load[i] >= FullFrom) {
			top = 0
			continue
		}
		top = math.Max(top, t.RPM[i])
		if top-t.RPM[i] >= grabFall {
			return true
		}
	}
	return false
}

// shortDab is how long a dab that left no other trace may seem to last, s: its own second, and the samples on either side.
func shortDab(period float64) float64 {
	if period > 0.25 {
		return 1.3 + 2*period
	}
	return 1.2 + period
}

// freeRate is a rise of engine speed, rpm/s, that an engine with its car still on the clutch does not reach: a clutch that lets a fifth of
// the torque go by lets it rise at half of this.
const freeRate = 5000.0

// flies tells whether the engine ran up during an event as only a disengaged one does.
func (r *Record) flies(c *Departure) bool {
	for i := max(c.lo-1, 0); i < c.hi; i++ {
		if r.Track.RPMRate[i] > freeRate {
			return true
		}
	}
	return false
}

// letGo tells whether the car was hardly pushed during an event, against the second before it.
func (r *Record) letGo(c *Departure) bool {
	t := r.Track.T
	before, n := 0.0, 0.0
	for i := c.lo - 1; i >= 0 && t[i] >= c.Start-1.2; i-- {
		if t[i] <= c.Start-0.2 {
			before, n = before+r.Phi[i], n+1
		}
	}
	in, k := 0.0, 0.0
	for i := c.lo; i < c.hi; i++ {
		if t[i] >= c.Start+0.3*c.duration && t[i] <= c.End-0.1*c.duration {
			in, k = in+r.Phi[i], k+1
		}
	}
	return n > 0 && k > 0 && in/k < 0.6*before/n-0.004
}

// loadedAfter tells whether the engine is still asked for torque in the half second after an event.
func (r *Record) loadedAfter(c *Departure) bool {
	t := r.Track
	n, on := 0, 0
	for i := c.hi; i < t.Len() && t.T[i] <= c.End+0.5+r.Period; i++ {
		n++
		if t.Load[i] >= 0.5 || math.IsNaN(t.Load[i]) && r.Phi[i] >= phiFrom {
			on++
		}
	}
	return n > 0 && 2*on > n
}

// push is the mean wheel force over weight of a run between two times; 0 without a sample.
func (r *Record) push(run *motion.Run, from, to float64) float64 {
	sum, n := 0.0, 0.0
	for i := run.Lo; i < run.Hi; i++ {
		if t := r.Track.T[i]; t >= from && t <= to {
			sum, n = sum+r.Phi[i], n+1
		}
	}
	return sum / math.Max(n, 1)
}

// endless tells whether an event that began with the pedal lasts longer than any foot takes, and does not come to rest: after a shift into
// third or higher two seconds, else two and a half, one sample more on a slow link.
func (r *Record) endless(c *Departure) bool {
	least := 2.5
	if c.run.Gear >= 3 {
		least = 2
	}
	if r.Period > 0.25 {
		least += r.Period
	}
	if !c.relocks {
		least += 0.5
	}
	foot := r.withoutLift(c)
	if foot < least {
		return false
	}
	if foot >= ruinous && r.Period <= 0.25 && r.meanLoad(c) >= FullFrom {
		return true
	}
	half := c.Start + c.duration/2
	var first, second, n, m float64
	for i := c.lo; i < c.hi; i++ {
		if e := r.Track.Excess[i]; r.Track.T[i] < half {
			first, n = first+e, n+1
		} else {
			second, m = second+e, m+1
		}
	}
	return c.duration > 3.5 || n > 0 && m > 0 && second/m > 0.4*first/n
}

// ruinous is how long (s) nobody lets a clutch slip at full load who wants to keep it.
const ruinous = 2.5

// meanLoad is the mean load fraction of an event, NaN where no channel tells.
func (r *Record) meanLoad(c *Departure) float64 {
	sum := 0.0
	for i := c.lo; i < c.hi; i++ {
		sum += r.Track.Load[i]
	}
	return sum / float64(c.hi-c.lo)
}

// FootOff is the load fraction below which the foot is off the accelerator.
const FootOff = 0.2

// withoutLift is the longest part of an event (s) without a lift: who lifts may have changed gear, and another event begins.
func (r *Record) withoutLift(c *Departure) float64 {
	longest, since := 0.0, c.Start
	for i := c.lo; i < c.hi; i++ {
		t := r.Track.T[i]
		if r.Track.Load[i] < FootOff {
			longest, since = max(longest, t-since), t
		}
	}
	return max(longest, c.End-since)
}

// otherGear tells whether the excess is that of a lower gear being in, or constant as no clutch slips. A lower gear pushes the car harder
// than the gear before it did; a slipping clutch never does.
func (r *Record) otherGear(c *Departure) bool {
	if c.locked {
		before := r.push(c.run, c.Start-1.2, c.Start-0.1)
		if within := r.push(c.run, c.Start+0.4, c.End-0.2); within < 1.1*before {
			return false
		}
	}
	if c.MeanSlip > 6 && r.fits(c) > 0.5 {
		return true
	}
	if c.locked || c.duration < 1.5 {
		return false
	}
	var n, s, ss float64
	for i := c.lo; i < c.hi; i++ {
		x := r.SlipAt(i)
		n, s, ss = n+1, s+x, ss+x*x
	}
	return math.Sqrt(math.Max(0, ss/n-s/n*s/n)) < 0.012
}

// fits is the largest share of an event's samples at which one and the same other gear would be right.
func (r *Record) fits(c *Departure) float64 {
	t := r.Track
	m := &t.Model
	best := 0
	for g := range m.Gears {
		if g == c.run.Index {
			continue
		}
		n := 0
		for i := c.lo; i < c.hi; i++ {
			v := r.State[i].V
			if math.Abs(t.RPM[i]/m.Gears[g].K-v) < 1.2+2*m.LevelSD(v, r.State[i].A) {
				n++
			}
		}
		best = max(best, n)
	}
	return float64(best) / float64(c.hi-c.lo)
}
