package detect

import (
	"math"

	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
)

// The gate of a pull: the engine is asked for torque and the car is fast enough for the steps of road speed not to matter.
const (
	PullSpeed   = 25.0 // km/h
	LoadedFrom  = 0.35 // load fraction
	FullFrom    = 0.80 // load fraction that counts as full
	phiFrom     = 0.045
	afterChange = 0.6 // s after a gear change that do not count
	bridge      = 0.5 // s of missing load that do not end a pull
	shortest    = 1.2 // s of a pull

)

// loadedAt tells whether sample i is under load.
func (r *Record) loadedAt(i int) bool {
	t := r.Track
	if t.SpeedKmh[i] < PullSpeed {
		return false
	}
	if x := t.Load[i]; !math.IsNaN(x) {
		return x >= LoadedFrom && r.Phi[i] >= -0.03
	}
	return r.Phi[i] >= phiFrom
}

// Pull is a stretch of load in one gear: samples [Lo, Hi) of a run.
type Pull struct {
	Run        *motion.Run
	Lo, Hi     int
	Departures []Departure
}

// findPulls cuts the runs of a record into pulls.
func (r *Record) findPulls() []Pull {
	var out []Pull
	t := r.Track.T
	for q := range r.Runs {
		run := &r.Runs[q]
		lo, hi := run.Lo, run.Hi
		if run.FromOpen {
			for lo < hi && t[lo]-t[run.Lo] < afterChange {
				lo++
			}
		}
		if run.IntoOpen {
			for hi > lo && t[run.Hi-1]-t[hi-1] < afterChange+0.5*r.Period {
				hi--
			}
		}
		out = append(out, r.loadedParts(run, lo, hi)...)
	}
	return out
}

// loadedParts returns the loaded stretches of samples [lo, hi), short lapses bridged.
func (r *Record) loadedParts(run *motion.Run, lo, hi int) []Pull {
	var out []Pull
	t := r.Track.T
	allowed := math.Max(bridge, 1.3*r.Period)
	for i := lo; i < hi; {
		if !r.loadedAt(i) {
			i++
			continue
		}
		last := i
		for j := i + 1; j < hi && (j == last+1 || t[j]-t[last] <= allowed); j++ { // the next sample may be late
			if r.loadedAt(j) {
				last = j
			}
		}
		if t[last]-t[i] >= shortest {
			out = append(out, Pull{Run: run, Lo: i, Hi: last + 1})
		}
		i = last + 1
	}
	return out
}

// flank is how long a slip takes to build up and to die away, s.
const flank = 0.3

// visibleShare is the part of a pull over which the slip that is stated would have shown.
const visibleShare = 0.8

// SmallestDetectable is the slip (%) that would have shown, with 95 % probability, had it lasted 1.5 s (2 s on a slow link) anywhere in four fifths of
// the Stretch. Where the tyres may spin no slip can be told; nil when that, or too short a Stretch, leaves nothing: unseen then says why.
func (r *Record) SmallestDetectable(s *Pull) (size *float64, unseen string) {
	t := r.Track
	length, whole := 1.5, 1.0
	if r.Period > 0.25 { // the window that finds it has its rise and its fall in it; on a quick link a shorter one has not
		length = math.Max(2, 3.2*r.Period)
		whole = 1 - flank/length
	}
	limit := math.Inf(1)
	if t.Model.Creep > 0 {
		limit = r.spinForce()
	} else if s.Run.Gear == 1 {
		return nil, "first gear: the wheels may spin as well as the clutch"
	}
	var sizes []float64
	spins := math.Inf(-1)
	start := s.Lo
	for end := s.Lo + 1; end <= s.Hi; end++ {
		if r.Phi[end-1] > limit {
			spins = t.T[end-1]
		}
		for t.T[end-1]-t.T[start] > length {
			start++
		}
		if end-start < 3 || t.T[end-1]-t.T[start] < length-1.2*r.Period-0.1 {
			continue
		}
		size := math.Inf(1)
		if spins < t.T[start] {
			size = r.test(start, end, s.Run.Index).smallest() / whole
		}
		sizes = append(sizes, size)
	}
	x := stats.Nearest(sizes, visibleShare)
	switch {
	case len(sizes) == 0:
		return nil, "too short"
	case math.IsInf(x, 1):
		return nil, "the wheels were pushed so hard that they may spin as well as the clutch: use a higher gear"
	}
	return &x, ""
}

// MaxSlip is the largest mean slip (%) over about a second.
func (r *Record) MaxSlip(s *Pull) float64 {
	t := r.Track.T
	top, start := math.Inf(-1), s.Lo
	for end := s.Lo + 1; end <= s.Hi; end++ {
		for t[end-1]-t[start] > math.Max(1, 2.2*r.Period) {
			start++
		}
		if end-start < 3 {
			continue
		}
		w := r.test(start, end, s.Run.Index)
		top = math.Max(top, 100*w.mean/(w.mean+w.v))
	}
	if math.IsInf(top, -1) {
		return 0
	}
	return top
}

// FullLoad tells whether load was full for at least half a second at an engine speed from rpm on.
func (r *Record) FullLoad(s *Pull, rpm float64) bool {
	t := r.Track
	since := math.NaN()
	for i := s.Lo; i < s.Hi; i++ {
		if x := t.Load[i]; !(x >= FullFrom && t.RPM[i] >= rpm) {
			since = math.NaN()
			continue
		}
		if math.IsNaN(since) {
			since = t.T[i]
		}
		if t.T[i]-since >= 0.5 {
			return true
		}
	}
	return false
}

// PeakTorque is the largest clutch torque that lasted for some seconds within a Stretch.
func (r *Record) PeakTorque(s *Pull, f *motion.Force, lasting float64) *stats.Estimate {
	if !f.Known() || f.Arm(s.Run.Gear) == 0 {
		return nil
	}
	t := r.Track.T
	best, at, end := math.Inf(-1), -1, -1
	for i := s.Lo; i < s.Hi; i++ {
		low := math.Inf(1)
		j := i
		for ; j < s.Hi && t[j]-t[i] < lasting; j++ {
			low = math.Min(low, r.ClutchTorque(f, s.Run.Gear, j))
		}
		if j == s.Hi {
			break
		}
		if low > best {
			best, at, end = low, i, j-1
		}
	}
	if at < 0 || math.IsInf(best, 0) {
		return nil
	}
	m := r.State[at]
	own := f.Mass * r.Fit * r.MeanAccelSD(at, end) / 3.6 * f.Arm(s.Run.Gear)
	return stats.Normal(best, math.Hypot(own, f.CommonError(s.Run.Gear, best, m.A, m.V, r.SlopeError(at))))
}
