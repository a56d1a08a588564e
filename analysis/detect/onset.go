package detect

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
)

const (
	slipEase     = 0.1 // s before slip begins from which engine speed is not trusted
	longestRun   = 0.5 // s that slip takes at most from nothing to 1 %
	lineTime     = 0.6 // s before slip begins over which torque is read as a straight line
	slidesWithin = 2.5 // s of slip in which the pedal comes up
	pedalShare   = 0.8 // of the torque that a sliding clutch carries; less is a foot on the pedal
	// A dry clutch that slides carries 0.92 to 1 of what it held, and its friction rises by as much again with
	// the speed at which it slides, so that over the first second the two hardly differ. Common practice, no
	// source.
	sliding, slidingSD = 0.98, 0.04
)

// begin is when slip rose from nothing, s: the line through where it passes 1 % and where it is a little later,
// back to 0.
func (r *Record) begin(c *Departure) float64 {
	t := r.Track.T
	for i := c.lo; i < c.hi; i++ {
		s := r.SlipAt(i)
		if dt := t[i] - c.Start; s >= 2*edge && dt > 0 || dt > longestRun {
			rise := math.Max((s-edge)/dt, edge/longestRun)
			return c.Start - edge/rise
		}
	}
	return c.Start
}

// closely narrows the stretches in which engine speed was not road speed to what the events tell, where they make one.
func (r *Record) closely() []motion.Span {
	ease := slipEase
	if r.Period > gearstate.SlowLink {
		ease += 0.5 * r.Period
	}
	var out []motion.Span
	r.each(func(c *Departure) {
		c.begin = r.begin(c)
		out = append(out, motion.Span{Start: c.begin - ease, End: c.End + ease})
	})
	events := len(out)
	for _, s := range r.Slips {
		if !slices.ContainsFunc(out[:events], func(e motion.Span) bool { return e.Start < s.End && s.Start < e.End }) {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b motion.Span) int { return cmp.Compare(a.Start, b.Start) })
	return out
}

// lineValues is how many intervals the line goes back at least that tells the torque before a slip.
const lineValues = 2.5

// onset is the torque through the clutch when it began to slip. From a locked clutch it is read twice: from the
// last moment before, where engine speed still tells the car's acceleration but torque may rise quickly under
// the foot; and from the first second after, where a sliding clutch carries its friction, a little less than it
// held. Each counts by its certainty. A clutch that had not locked yet slides from the first.
func (c *Departure) onset(r *Record, f *motion.Force) {
	if f.Arm(c.run.Gear) == 0 {
		return
	}
	slides := r.slides(f, c)
	if !c.seen.locked {
		c.begins(slides)
		return
	}
	before := r.torque(f, c.run, c.begin-math.Max(lineTime, lineValues*r.Period), c.begin, math.Inf(-1))
	c.begins(before.atEnd().and(slides.times(1/sliding, slidingSD)))
}

// begins takes the torque that a departure began with. An engine that runs ahead under load pushes: what reads as a
// torque of nothing or less is none.
func (c *Departure) begins(x *reading) {
	if x == nil || !(x.value > 0) {
		return
	}
	c.OnsetTorque, c.OnsetShared = x.estimate(), x.shared
}

// slides reads the torque of a sliding clutch over the first second in which it carries what it can: the pedal is up.
func (r *Record) slides(f *motion.Force, c *Departure) *reading {
	t := r.Track.T
	to := math.Min(c.End, c.begin+slidesWithin+r.Period)
	var torques []float64
	for i := c.lo; i < c.hi && t[i] <= to; i++ {
		torques = append(torques, r.ClutchTorque(f, c.run.Gear, i))
	}
	least := pedalShare * stats.Nearest(torques, 0.75)
	for i := c.lo; i < c.hi && t[i] <= to; i++ {
		if r.ClutchTorque(f, c.run.Gear, i) >= least {
			return r.torque(f, c.run, t[i], math.Min(c.End, t[i]+math.Max(1, gearstate.Wait(r.Period))), least)
		}
	}
	return nil
}

// reading is the torque of a run over a Stretch of time.
type reading struct {
	value  float64 // N m, mean
	rise   float64 // N m from the middle of the Stretch to its end, by a straight line
	own    float64 // standard deviation of the reading itself
	common float64 // and of what all readings nearby err by: mass, road load, slope;
	shared float64 // of that, what all readings of a car err by
}

// estimate is the reading with all of its uncertainty.
func (x *reading) estimate() *stats.Estimate {
	return stats.Normal(x.value, math.Hypot(x.own, x.common))
}

// and is two readings of one torque, each by its certainty; nil counts for nothing.
func (x *reading) and(y *reading) *reading {
	if x == nil || y == nil {
		return cmp.Or(x, y)
	}
	vx, vy := x.own*x.own, y.own*y.own
	w := vy / (vx + vy)
	return &reading{value: w*x.value + (1-w)*y.value, own: math.Sqrt(w*w*vx + (1-w)*(1-w)*vy),
		common: w*x.common + (1-w)*y.common, shared: w*x.shared + (1-w)*y.shared}
}

// atEnd is the reading at the end of its Stretch: the end of a parabola through the speeds is known four times
// worse than its mean slope, and how straight the rise was is not known.
func (x *reading) atEnd() *reading {
	if x == nil {
		return nil
	}
	end := *x
	end.value, end.own = x.value+x.rise, math.Hypot(4*x.own, 0.5*x.rise)
	return &end
}

// times is the reading times k with a relative standard deviation.
func (x *reading) times(k, sd float64) *reading {
	if x == nil {
		return nil
	}
	return &reading{value: k * x.value, own: math.Hypot(k*x.own, k*x.value*sd), common: k * x.common,
		shared: k * x.shared}
}

// torque reads the clutch torque of a run between two times from the samples with at least some N m; nil without any.
func (r *Record) torque(f *motion.Force, run *motion.Run, from, to, least float64) *reading {
	var n, sum, time, tt, tx, a, v, slope float64
	first, last := -1, -1
	for i := run.Lo; i < run.Hi; i++ {
		t := r.Track.T[i]
		if t > to {
			break
		}
		if t < from {
			continue
		}
		m := r.State(i)
		x, u := r.ClutchTorque(f, run.Gear, i), t-from
		if !(x >= least) {
			continue
		}
		n, sum, time, tt, tx = n+1, sum+x, time+u, tt+u*u, tx+u*x
		a, v, slope = a+m.A, v+m.V, slope+r.SlopeError(i)
		if first < 0 {
			first = i
		}
		last = i
	}
	if n == 0 {
		return nil
	}
	x := &reading{value: sum / n}
	if d := tt - time*time/n; n >= fewestValues && d > 0 {
		x.rise = (tx - time*sum/n) / d * (to - from - time/n)
	}
	x.own = f.Mass * r.MeanAccelSD(first, last) / 3.6 * f.Arm(run.Gear)
	x.common = f.CommonError(run.Gear, x.value, a/n, v/n, slope/n)
	x.shared = f.SharedError(run.Gear, x.value, a/n, v/n)
	return x
}
