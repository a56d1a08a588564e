package slip

import (
	"math"
	"slices"
)

// classify says what an event is. Only KindSlip is held against the clutch.
func (r *record) classify(c *candidate, told, flat bool) string {
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
	case !c.locked && !(d >= pick(2.5, 3.5) && c.relocks):
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

// dab tells the short spike of a foot that touches the clutch pedal.
func (r *record) dab(c *candidate) bool {
	if c.duration < 2 && c.PeakSlip > 5 && c.PeakSlip > 1.8*c.MeanSlip {
		return true
	}
	return false
}

// spin tells whether the driven wheels may slip instead of the clutch: only where the speed is not taken from them.
func (r *record) spin(c *candidate) bool {
	m := &r.track.Model
	if c.run.gear == 1 {
		return true
	}
	if m.Creep == 0 {
		return false
	}
	return c.run.gear == 2 || mean(r.sumCreep, c.lo, c.hi)/mean(r.sumV, c.lo, c.hi) > 0.25
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
