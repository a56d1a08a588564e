package slip

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/stats"
)

const (
	slipEase   = 0.1 // s before slip begins from which engine speed is not trusted
	longestRun = 0.5 // s that slip takes at most from nothing to 1 %
	lineTime   = 0.6 // s before slip begins over which torque is read as a straight line
	// A dry clutch carries a little less when it slides than it held: organic linings 0.92 to 1. Common practice, no source.
	sliding, slidingSD = 0.96, 0.025
)

// begin is when slip rose from nothing, s: the line through where it passes 1 % and where it is a little later, back to 0.
func (r *record) begin(c *candidate) float64 {
	t := r.track.T
	for i := c.lo; i < c.hi; i++ {
		s := r.slipAt(i)
		if dt := t[i] - c.Start; s >= 2*edge && dt > 0 || dt > longestRun {
			rise := math.Max((s-edge)/dt, edge/longestRun)
			return c.Start - edge/rise
		}
	}
	return c.Start
}

// closely narrows the stretches in which engine speed was not road speed to what the events tell, where they make one.
func (r *record) closely(found [][]candidate) []span {
	ease := slipEase
	if r.period > 0.25 {
		ease += 0.5 * r.period
	}
	var out []span
	for i := range found {
		for q := range found[i] {
			c := &found[i][q]
			c.begin = r.begin(c)
			out = append(out, span{c.begin - ease, c.End + ease})
		}
	}
	events := len(out)
	for _, s := range r.slips {
		if !slices.ContainsFunc(out[:events], func(e span) bool { return e.start < s.end && s.start < e.end }) {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b span) int { return cmp.Compare(a.start, b.start) })
	return out
}

// onset is the torque through the clutch when it began to slip. From a locked clutch it is read twice: from the last moment before, where engine
// speed still tells the car's acceleration but torque may rise quickly under the foot; and from the first second after, where a sliding clutch
// carries its friction, a little less than it held. Each counts by its certainty. A clutch that had not locked yet slides from the first.
func (c *candidate) onset(r *record, f *roadForce) {
	if !f.known() {
		return
	}
	if !c.locked {
		from := c.Start + math.Min(0.5*c.duration, 1)
		if e := r.torque(f, c.run, from, math.Max(c.End-0.1, from+r.period)); e != nil {
			c.OnsetTorque = e.Estimate()
		}
		return
	}
	within := r.torque(f, c.run, c.begin, math.Min(c.End, c.begin+math.Max(1, 3.2*r.period)))
	before := r.torque(f, c.run, c.begin-math.Max(lineTime, 2.5*r.period), c.begin)
	switch {
	case within == nil && before == nil:
		return
	case before == nil:
		c.OnsetTorque = within.times(1/sliding, slidingSD).Estimate()
		return
	case within == nil:
		c.OnsetTorque = before.atEnd().Estimate()
		return
	}
	a, b := before.atEnd(), within.times(1/sliding, slidingSD)
	va, vb := a.own*a.own, b.own*b.own
	w := vb / (va + vb)
	c.OnsetTorque = stats.Normal(w*a.value+(1-w)*b.value, math.Sqrt(w*w*va+(1-w)*(1-w)*vb+square(w*a.common+(1-w)*b.common)))
}

func square(x float64) float64 { return x * x }

// reading is the torque of a run over a stretch of time.
type reading struct {
	value  float64 // N m, mean
	rise   float64 // N m from the middle of the stretch to its end, by a straight line
	own    float64 // standard deviation of the reading itself
	common float64 // and of what all readings nearby err by: mass, road load, slope
}

// Estimate is the reading with all of its uncertainty.
func (x *reading) Estimate() *stats.Estimate {
	return stats.Normal(x.value, math.Hypot(x.own, x.common))
}

// atEnd is the reading at the end of its stretch: the end of a parabola through the speeds is known four times worse than its mean slope, and how
// straight the rise was is not known.
func (x *reading) atEnd() *reading {
	return &reading{value: x.value + x.rise, own: math.Hypot(4*x.own, 0.5*x.rise), common: x.common}
}

// times is the reading times k with a relative standard deviation.
func (x *reading) times(k, sd float64) *reading {
	return &reading{value: k * x.value, own: math.Hypot(k*x.own, k*x.value*sd), common: k * x.common}
}

// torque reads the clutch torque of a run between two times; nil without a sample in between.
func (r *record) torque(f *roadForce, run *run, from, to float64) *reading {
	var n, sum, time, tt, tx, a, v, slope float64
	first, last := -1, -1
	for i := run.lo; i < run.hi; i++ {
		t := r.track.T[i]
		if t < from || t > to {
			continue
		}
		m := r.motion[i]
		x, u := r.clutchAt(f, run.gear, i), t-from
		n, sum, time, tt, tx = n+1, sum+x, time+u, tt+u*u, tx+u*x
		a, v, slope = a+m.a, v+m.v, slope+r.slopeError(i)
		if first < 0 {
			first = i
		}
		last = i
	}
	if n == 0 || f.perGear[run.gear] == 0 {
		return nil
	}
	x := &reading{value: sum / n}
	if d := tt - time*time/n; n >= 3 && d > 0 {
		x.rise = (tx - time*sum/n) / d * (to - from - time/n)
	}
	x.own = f.mass * r.meanAccelSD(first, last) / 3.6 * f.perGear[run.gear]
	x.common = f.commonError(run.gear, x.value, a/n, v/n, slope/n)
	return x
}

// meanAccelSD is the standard deviation (km/h/s) of the mean acceleration from sample first to sample last: of the speeds at either end.
func (r *record) meanAccelSD(first, last int) float64 {
	dt := r.track.T[last] - r.track.T[first]
	if dt <= 0 {
		return math.Sqrt(r.motion[first].varA)
	}
	return math.Min(math.Sqrt(r.motion[first].varV+r.motion[last].varV)/dt, math.Sqrt(r.motion[first].varA))
}
