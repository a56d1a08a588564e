package detect

import (
	"math"

	"flywitness/analysis/gearstate"
)

// threshold is how many standard deviations the mean of a window must stand above locked: many windows are
// looked at, and real errors have longer tails than their models.
const (
	threshold = 5.0
	noticed   = 3.0   // and how many to keep a pull from being said to hold: one pull, a handful of windows
	power     = 1.65  // a slip of (noticed + power) standard deviations is noticed with 95 % probability
	leastSlip = 0.015 // of road speed: below, ratio, tyre and dial are not known well enough
)

// windows are the lengths (s) over which the mean excess is tested, with the least number of samples.
func windows(period float64) (lengths []float64, least int) {
	switch {
	case period > gearstate.SlowestLink:
		return []float64{2.5, 4, 6}, 3
	case period > gearstate.SlowLink:
		return []float64{1.2, 2, 4, 6}, 3
	}
	return []float64{0.8, 1.5, 3, 6}, 5
}

// window is the test over samples [lo, hi) of one gear.
type window struct {
	mean  float64 // km/h of excess
	sd    float64 // km/h, of the mean if the clutch is locked
	v     float64 // km/h
	creep float64 // wheel force over weight times road speed, km/h
}

const (
	finestStep   = 0.1  // km/h; a finer road speed is no better
	stepVariance = 0.09 // of the square of a step: a value lies anywhere in one, and a little is left to noise
	slowest      = 5.0  // km/h; below, a path error grows no more
	cornerShare  = 0.25 // of an interval times a change of acceleration, by which a line between two values cuts a corner
	sluggish     = 0.5  // of an interval, by which whoever tells a speed so seldom may be later still in a change of it
	fullWindow   = 0.7  // of its length that a window must have: samples come when they come
)

// test measures a window for what departs in it.
func (r *Record) test(lo, hi, index int) window {
	w := r.measured(lo, hi, index)
	w.sd = max(r.Spread*w.sd, r.farCreep(&w))
	if drawn := r.Track.Model.Drawn; drawn > 0 {
		w.sd = r.withCorner(w.sd, lo, hi)
		if r.Spread > wanders {
			w.sd = math.Hypot(w.sd, sluggish*drawn*r.rise(lo, hi)*faded((r.Track.T[hi-1]-r.Track.T[lo])/drawn))
		}
	}
	return w
}

// inPull measures a window of a pull for what it would have shown. The spread that departures must stand out by is
// made of whatever a log shows anywhere. Here one run that may carry a wrong label does not count, and where the foot
// lifts or goes down within the window, the corner that a line between two values cuts is told apart from the log's
// own errors.
func (r *Record) inPull(lo, hi, index int) window {
	w := r.measured(lo, hi, index)
	w.sd = r.withCorner(w.sd, lo, hi)
	w.sd = max(r.PullSpread*w.sd, r.farCreep(&w))
	return w
}

// measured is a window with the standard deviation of its mean as signals, scale and creep make it. The steps of road
// speed do not average out when the car crosses few of them.
func (r *Record) measured(lo, hi, index int) window {
	m := &r.Track.Model
	n := r.values(lo, hi)
	mean := r.Means(lo, hi)
	v, a := mean.V, mean.A
	moved := math.Abs(r.State(hi-1).V - r.State(lo).V)
	variance := stepped(max(m.Step, finestStep), moved, n) + stepped(m.EngineStep(index), moved, n)
	variance += a * a * (0.025*0.025 + m.LagSD*m.LagSD + m.TimingSD*m.TimingSD/n)
	if m.Doubt != nil {
		variance += m.Doubt.Variance(len(m.Gears), index, v, a)
	}
	c := creepSD(m) * mean.Creep
	path := r.Path / max(v, slowest)
	return window{mean: mean.E, sd: math.Sqrt(variance + c*c + path*path), v: v, creep: mean.Creep}
}

// faded is the mean, over so many times its memory, of what is forgotten evenly: 1 at once, none in the end.
func faded(times float64) float64 {
	if times <= 0 {
		return 1
	}
	return (1 - math.Exp(-times)) / times
}

// rise is by how much acceleration (km/h/s) rises at most up to the end of samples [lo, hi), from two road speeds
// before them on. Where it falls, a speed that comes late is too high: no engine seems ahead of it.
func (r *Record) rise(lo, hi int) (most float64) {
	least := math.Inf(1)
	for i := r.at(r.Track.T[lo] - 2*r.Track.Model.Drawn); i < hi; i++ {
		a := r.State(i).A
		least = math.Min(least, a)
		most = math.Max(most, a-least)
	}
	return most
}

// farCreep is the standard deviation of a window where creep lies as far from what was learnt as the spread asks for:
// see creepFor. 0 where that is no further than it may lie anyway.
func (r *Record) farCreep(w *window) float64 {
	known := creepSD(&r.Track.Model)
	if r.creeps <= known {
		return 0
	}
	return math.Sqrt(math.Max(0, w.sd*w.sd+(r.creeps*r.creeps-known*known)*w.creep*w.creep))
}

// withCorner adds to the standard deviation of a window's mean that of a corner cut within it.
func (r *Record) withCorner(sd float64, lo, hi int) float64 {
	corner := cornerShare * max(r.Period, r.Track.Model.Drawn) * (r.State(hi-1).A - r.State(lo).A)
	return math.Hypot(sd, corner/r.values(lo, hi)) // one value of them is off
}

// stepped is the variance ((km/h)^2) of the mean of n values in steps (km/h) of a signal that moved over some of them.
func stepped(step, moved, n float64) float64 {
	if step == 0 {
		return 0
	}
	return stepVariance * step * step / min(n, 1+2*moved/step)
}

// What a tyre's creep is known to, per unit of wheel force over weight: little where speed is that of the
// wheels which push.
const (
	drivenCreepSD = 0.006
	leastCreepSD  = 0.015
	creepBend     = 0.3 // of the creep: it is no straight line
	creepErrors   = 2.0 // times what the fit tells: slope and wind hang together for longer than its blocks
)

// creepSD is the standard deviation of creep in a model.
func creepSD(m *gearstate.Model) float64 {
	if !m.MayCreep {
		return max(drivenCreepSD, creepErrors*m.CreepSD)
	}
	return max(leastCreepSD, creepBend*m.Creep, creepErrors*m.CreepSD)
}

func (w window) hit() bool { return w.mean > threshold*w.sd && w.mean > leastSlip*w.v }

// notable tells whether a window stands too far above locked to tell that the clutch held, proof or not.
func (w window) notable() bool { return w.mean > noticed*w.sd && w.mean > leastSlip*w.v }

// smallest is the slip (%) that would have made this window notable with 95 % probability.
func (w window) smallest() float64 {
	x := (noticed + power) * w.sd / w.v
	return 100 * math.Max(x, leastSlip+power*w.sd/w.v) / (1 + x)
}

// hits returns the stretches of samples in [lo, hi) in which some window shows slip.
func (r *Record) hits(lo, hi, index int) [][2]int {
	lengths, least := windows(r.Period)
	var out [][2]int
	t := r.Track.T
	for _, d := range lengths {
		start := lo
		for end := lo + 1; end <= hi; end++ {
			for t[end-1]-t[start] > d {
				start++
			}
			if end-start < least || t[end-1]-t[start] < fullWindow*d {
				continue
			}
			if r.slips(start, end) && r.test(start, end, index).hit() {
				out = append(out, [2]int{start, end})
			}
		}
	}
	return union(out, hi)
}

// slips tells whether engine speed stands above its gear by enough of road speed over samples [lo, hi): few windows
// do, and need to be measured.
func (r *Record) slips(lo, hi int) bool {
	e := r.MeanE(lo, hi)
	return e > 0 && e > leastSlip*r.MeanV(lo, hi)
}

// union joins overlapping stretches.
func union(s [][2]int, n int) [][2]int {
	if len(s) == 0 {
		return nil
	}
	first := s[0][0]
	for _, x := range s {
		first = min(first, x[0])
	}
	mark := make([]bool, n-first)
	for _, x := range s {
		for i := x[0]; i < x[1]; i++ {
			mark[i-first] = true
		}
	}
	var out [][2]int
	for i := 0; i < len(mark); i++ {
		if !mark[i] {
			continue
		}
		j := i
		for j < len(mark) && mark[j] {
			j++
		}
		out = append(out, [2]int{first + i, first + j})
		i = j
	}
	return out
}
