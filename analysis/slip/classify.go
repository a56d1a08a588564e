package slip

import (
	"math"
	"slices"

	"flywitness/analysis/gearstate"
)

// classify says what an event is. Only KindSlip is held against the clutch.
func (r *record) classify(c *candidate) string {
	slow := r.period > 0.25
	pick := func(fast, slowValue float64) float64 {
		if slow {
			return slowValue
		}
		return fast
	}
	d := c.duration
	switch {
	case d < pick(0.6, 0.9):
		return KindShort
	case r.spin(c):
		return KindWheelspin
	case !c.locked && !(c.relocks && (d >= pick(2.5, 3.5) || d >= pick(2, 3) && c.Start-r.track.T[c.run.lo] >= 1.2)):
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

// dab tells a foot that touches the clutch pedal. It lets the engine run away for a moment, and the car with it stops being pushed: a
// clutch that slips by itself still carries most of the torque. A short one ends by itself, in the same gear, with the engine still under
// load; a clutch that slips at full load does not take hold again within a second.
func (r *record) dab(c *candidate) bool {
	if c.PeakSlip <= 9 {
		return false
	}
	switch d := c.duration; {
	case d < 2 && c.PeakSlip > 1.8*c.MeanSlip:
		return true
	case d < 2.6+r.period && (r.letGo(c) || r.grabs(c)):
		return true
	case d < 1.3+2*r.period:
		return c.relocks && r.loadedAfter(c)
	}
	return false
}

// grabFall is how far engine speed falls under full load, rpm, before that is a clutch taking hold; a limiter lets it bounce less.
const grabFall = 800.0

// grabs tells whether the engine was pulled down during an event although the driver asked for full load: only a clutch that holds more than
// the engine gives does that, so it had been let go. A clutch that slips by itself lets the engine rise to where its torque is what the
// clutch carries, and stay there.
func (r *record) grabs(c *candidate) bool {
	t := r.track
	top := 0.0
	for i := c.lo; i < c.hi; i++ {
		if !(t.Load[i] >= fullFrom) {
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

// letGo tells whether the car was hardly pushed during an event, against the second before it.
func (r *record) letGo(c *candidate) bool {
	t := r.track.T
	before, n := 0.0, 0.0
	for i := c.lo - 1; i >= 0 && t[i] >= c.Start-1.2; i-- {
		if t[i] <= c.Start-0.2 {
			before, n = before+r.phi[i], n+1
		}
	}
	in, k := 0.0, 0.0
	for i := c.lo; i < c.hi; i++ {
		if t[i] >= c.Start+0.3*c.duration && t[i] <= c.End-0.1*c.duration {
			in, k = in+r.phi[i], k+1
		}
	}
	return n > 0 && k > 0 && in/k < 0.6*before/n-0.004
}

// loadedAfter tells whether the engine is still asked for torque in the half second after an event.
func (r *record) loadedAfter(c *candidate) bool {
	t := r.track
	n, on := 0, 0
	for i := c.hi; i < t.Len() && t.T[i] <= c.End+0.5+r.period; i++ {
		n++
		if t.Load[i] >= 0.5 || math.IsNaN(t.Load[i]) && r.phi[i] >= phiFrom {
			on++
		}
	}
	return n > 0 && 2*on > n
}

// spin tells whether the driven wheels may slip instead of the clutch: only where the speed is not taken from them, and only when the
// wheels pushed about as hard as the tyres were seen to hold in this drive at most. A slip in a high gear, at a force that a lower gear
// carried without any, is the clutch.
func (r *record) spin(c *candidate) bool {
	m := &r.track.Model
	if m.Creep == 0 {
		return c.run.gear == 1
	}
	force := 0.0
	for i := c.lo; i < c.hi; i++ {
		force = math.Max(force, r.phi[i])
	}
	return force > r.spinForce()
}

// spinForce is the wheel force over weight above which a driven axle may spin.
func (r *record) spinForce() float64 { return math.Max(spinFrom, 0.9*r.grip()) }

// spinFrom is the wheel force over weight below which a driven axle does not spin even in the wet: half of the weight on it, and a grip of 0.45.
const spinFrom = 0.22

// grip is the largest wheel force over weight that was held for half a second with the clutch locked and no slip.
func (r *record) grip() float64 {
	if r.held > 0 {
		return r.held
	}
	t := r.track
	r.held = spinFrom
	for _, run := range r.runs {
		low, since := math.Inf(1), math.NaN()
		for i := run.lo; i < run.hi; i++ {
			locked := t.Clutch[i] == gearstate.Locked && t.SpeedKmh[i] > 12 && math.Abs(t.Excess[i]) < 1+0.01*t.SpeedKmh[i]
			if !locked || r.phi[i] < r.held {
				low, since = math.Inf(1), math.NaN()
				continue
			}
			if math.IsNaN(since) {
				since = t.T[i]
			}
			low = math.Min(low, r.phi[i])
			if t.T[i]-since >= 0.5 {
				r.held = low
			}
		}
	}
	return r.held
}

// otherGear tells whether the excess is that of another gear being in, or constant as no clutch slips.
func (r *record) otherGear(c *candidate) bool {
	t := r.track
	m := &t.Model
	if c.MeanSlip > 6 {
		fits := 0
		for i := c.lo; i < c.hi; i++ {
			v := r.motion[i].v
			for g := range m.Gears {
				if g == c.run.index {
					continue
				}
				e := t.RPM[i]/m.Gears[g].K - v
				if math.Abs(e) < 1.2+2*m.LevelSD(v, r.motion[i].a) {
					fits++
					break
				}
			}
		}
		if float64(fits) > 0.4*float64(c.hi-c.lo) {
			return true
		}
	}
	if c.locked || c.duration < 1.5 {
		return false
	}
	var n, s, ss float64
	for i := c.lo; i < c.hi; i++ {
		x := r.slipAt(i)
		n, s, ss = n+1, s+x, ss+x*x
	}
	return math.Sqrt(math.Max(0, ss/n-s/n*s/n)) < 0.012
}

// quantile returns the q quantile of x, which is sorted in place; 0 for none.
func quantile(x []float64, q float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[int(q*float64(len(x)-1)+0.5)]
}
