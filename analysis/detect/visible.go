package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"
)

// Visible is the smallest slip that a pull would have shown with 95 % probability: Pct of engine speed, lasting
// Seconds.
type Visible struct{ Pct, Seconds float64 }

const (
	flank        = 0.3 // s that a slip takes to build up and to die away
	visibleShare = 0.8 // of a pull, over which the stated slip would have shown
	slowMiddle   = 4.0 // s, the middle duration on a slow link
	lacking      = 1.2 // intervals by which samples may fall short of a duration,
	lackingTime  = 0.1 // and s
	secondValues = 2.2 // intervals that a second has at least: three values
	clearEnough  = 4.0 // %: the shortest duration that shows this is stated
)

// durations are how long (s) a slip may last that is asked for.
func (r *Record) durations() []float64 {
	if r.Period > gearstate.SlowLink {
		return []float64{math.Max(2, gearstate.Wait(r.Period)), math.Max(slowMiddle, gearstate.Wait(r.Period)), 6}
	}
	return []float64{1.5, 3, 6}
}

// Visible returns the smallest slip that would have shown anywhere in four fifths of a pull, with the shortest
// duration that makes it small enough. Where the tyres may spin no slip can be told; nil when that, or too
// short a pull, leaves nothing: unseen then says why.
func (r *Record) Visible(p *Pull) (v *Visible, unseen finding.Code) {
	if p.Run.Gear == 1 && !r.Track.Model.MayCreep {
		return nil, finding.FirstGearMaySpin
	}
	for _, d := range r.durations() {
		if clear(v) {
			if r.standsOut(p, d) {
				return nil, finding.ExcessUnproven
			}
			continue
		}
		var sizes []float64
		stands := false
		r.tested(p, d, func(w window, lo, hi int, size float64) {
			sizes = append(sizes, size)
			stands = stands || w.notable()
		})
		if stands {
			return nil, finding.ExcessUnproven
		}
		if x := stats.Nearest(sizes, visibleShare); len(sizes) > 0 && (v == nil || x < v.Pct) {
			v = &Visible{x, d}
		}
	}
	return v, finding.PullTooShortToSee
}

// clear tells whether a size is small enough, so that no longer slip is asked for.
func clear(v *Visible) bool { return v != nil && v.Pct <= clearEnough }

// standsOut tells whether a window of a duration (s) in a pull is notable.
func (r *Record) standsOut(p *Pull, duration float64) (out bool) {
	r.windowsIn(p, duration, func(lo, hi int) {
		out = out || r.slips(lo, hi) && r.inPull(lo, hi, p.Run.Index).notable()
	})
	return out
}

// tested visits the windows of a duration (s) in a pull with the smallest slip (%) that each would have shown. Wheels
// that spin hide no slip: both let the engine run ahead.
func (r *Record) tested(p *Pull, duration float64, do func(w window, lo, hi int, size float64)) {
	whole := 1.0
	// the window that finds it has its rise and its fall in it; on a quick link a shorter one has not
	if r.Period > gearstate.SlowLink {
		whole = 1 - math.Max(flank, r.Period/2)/duration
	}
	whole *= shown(duration, r.Track.Model.Averaged)
	r.windowsIn(p, duration, func(lo, hi int) {
		w := r.inPull(lo, hi, p.Run.Index)
		do(w, lo, hi, w.smallest()/whole)
	})
}

// windowsIn visits the windows of a duration (s) in a pull.
func (r *Record) windowsIn(p *Pull, duration float64, do func(lo, hi int)) {
	t := r.Track.T
	start := p.Lo
	for end := p.Lo + 1; end <= p.Hi; end++ {
		for t[end-1]-t[start] > duration {
			start++
		}
		if end-start >= fewestValues && t[end-1]-t[start] >= duration-lacking*r.Period-lackingTime {
			do(start, end)
		}
	}
}

// MaxSlip is the largest mean slip (%) of a pull over about a second.
func (r *Record) MaxSlip(p *Pull) float64 {
	t := r.Track.T
	top, start := 0.0, p.Lo
	for end := p.Lo + 1; end <= p.Hi; end++ {
		for t[end-1]-t[start] > math.Max(1, secondValues*r.Period) {
			start++
		}
		if end-start < fewestValues {
			continue
		}
		e := r.MeanE(start, end)
		top = math.Max(top, 100*e/(e+r.MeanV(start, end)))
	}
	return top
}

// fullTime is how long (s) load must be full to count.
const fullTime = 0.5

// FullLoad tells whether load was full for a moment at an engine speed from rpm on.
func (r *Record) FullLoad(p *Pull, rpm float64) bool {
	t := r.Track
	since := math.NaN()
	for i := p.Lo; i < p.Hi; i++ {
		if x := t.Load[i]; !(x >= FullFrom && t.RPM[i] >= rpm) {
			since = math.NaN()
			continue
		}
		if math.IsNaN(since) {
			since = t.T[i]
		}
		if t.T[i]-since >= fullTime {
			return true
		}
	}
	return false
}

// gripping is the end of the samples of a pull in which wheels may grip: before a speed, being that of driven wheels,
// that rises faster than any road lets a car. What spins tells no torque.
func (r *Record) gripping(p *Pull) int {
	t := r.Track
	const most = gripTo * 3.6 * vehicle.Gravity // km/h/s
	slack := t.Model.Step + most*(r.Period+2*t.Model.TimingSD)
	behind := func(i int) float64 { return t.SpeedKmh[i] - most*t.T[i] }
	from := p.Lo
	for i := p.Lo + 1; i < p.Hi; i++ {
		switch {
		case behind(i) < behind(from):
			from = i
		case behind(i) > behind(from)+slack:
			return from
		}
	}
	return p.Hi
}

// PeakTorque is the largest clutch torque that lasted for half a second within a pull; nil where no torque is known.
func (r *Record) PeakTorque(p *Pull, f *motion.Force) *stats.Estimate {
	if f.Arm(p.Run.Gear) == 0 {
		return nil
	}
	t := r.Track.T
	best, at, end := math.Inf(-1), -1, -1
	gripping := r.gripping(p)
	for i := p.Lo; i < gripping; i++ {
		low := math.Inf(1)
		j := i
		for ; j < gripping && t[j]-t[i] < fullTime; j++ {
			low = math.Min(low, r.ClutchTorque(f, p.Run.Gear, j))
		}
		if j == gripping {
			break
		}
		if low > best {
			best, at, end = low, i, j-1
		}
	}
	if at < 0 || math.IsInf(best, 0) {
		return nil
	}
	return r.torqueOver(f, p.Run.Gear, best, at, end)
}

// HeldTorque is the largest clutch torque carried without slip: its mean over a stretch so long that slip of
// the size stated would have shown there. nil where no torque is known or nothing was tested.
func (r *Record) HeldTorque(p *Pull, f *motion.Force, v Visible) *stats.Estimate {
	if f.Arm(p.Run.Gear) == 0 {
		return nil
	}
	best, lo, hi := math.Inf(-1), -1, -1
	gripping := r.gripping(p)
	r.tested(p, v.Seconds, func(_ window, a, b int, size float64) {
		if size > v.Pct || b > gripping {
			return
		}
		sum := 0.0
		for i := a; i < b; i++ {
			sum += r.ClutchTorque(f, p.Run.Gear, i)
		}
		if m := sum / float64(b-a); m > best {
			best, lo, hi = m, a, b-1
		}
	})
	if lo < 0 {
		return nil
	}
	return r.torqueOver(f, p.Run.Gear, best, lo, hi)
}

// torqueOver is a torque read over samples lo to hi with its uncertainty.
func (r *Record) torqueOver(f *motion.Force, gear int, torque float64, lo, hi int) *stats.Estimate {
	m := r.State(lo)
	own := f.Mass * r.Fit * r.MeanAccelSD(lo, hi) / 3.6 * f.Arm(gear)
	return stats.Normal(torque, math.Hypot(own, f.CommonError(gear, torque, m.A, m.V, r.SlopeError(lo))))
}
