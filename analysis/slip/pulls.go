package slip

import (
	"math"

	"flywitness/vehicle"
)

// The gate of a pull: the engine is asked for torque and the car is fast enough for the steps of road speed not to matter.
const (
	pullSpeed   = 25.0 // km/h
	loadedFrom  = 0.35 // load fraction
	fullFrom    = 0.80 // load fraction that counts as full
	phiFrom     = 0.045
	afterChange = 0.6 // s after a gear change that do not count
	bridge      = 0.5 // s of missing load that do not end a pull
	shortest    = 1.2 // s of a pull

)

// loadedAt tells whether sample i is under load.
func (r *record) loadedAt(i int) bool {
	t := r.track
	if t.SpeedKmh[i] < pullSpeed {
		return false
	}
	if x := t.Load[i]; !math.IsNaN(x) {
		return x >= loadedFrom && r.phi[i] >= -0.03
	}
	return r.phi[i] >= phiFrom
}

// stretch is a pull before it is judged: samples [lo, hi) of one run.
type stretch struct {
	run    *run
	lo, hi int
	full   bool   // full load, or the highest torque of the logs, somewhere for half a second
	unseen string // why no slip could have been told
}

// stretches cuts the runs of a record into pulls.
func (r *record) stretches() []stretch {
	var out []stretch
	t := r.track.T
	for q := range r.runs {
		run := &r.runs[q]
		lo, hi := run.lo, run.hi
		if run.fromOpen {
			for lo < hi && t[lo]-t[run.lo] < afterChange {
				lo++
			}
		}
		if run.intoOpen {
			for hi > lo && t[run.hi-1]-t[hi-1] < afterChange+0.5*r.period {
				hi--
			}
		}
		out = append(out, r.loadedParts(run, lo, hi)...)
	}
	return out
}

// loadedParts returns the loaded stretches of samples [lo, hi), short lapses bridged.
func (r *record) loadedParts(run *run, lo, hi int) []stretch {
	var out []stretch
	t := r.track.T
	allowed := math.Max(bridge, 1.3*r.period)
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
			out = append(out, stretch{run: run, lo: i, hi: last + 1})
		}
		i = last + 1
	}
	return out
}

// judgePull fills what a stretch tells, events aside.
func (r *record) judgePull(s *stretch, f *roadForce) Pull {
	t := r.track
	p := Pull{Input: r.input, Start: t.T[s.lo], End: t.T[s.hi-1], Gear: s.run.gear}
	p.SmallestDetectable = r.smallestIn(s)
	p.MaxSlip = math.Max(0, r.maxSlip(s.lo, s.hi, s.run.index))
	p.PeakTorque = r.peakTorque(s, f, 0.5)
	s.full = r.fullLoad(s, pullingRPM(f.veh))
	return p
}

// flank is how long a slip takes to build up and to die away, s.
const flank = 0.3

// visibleShare is the part of a pull over which the slip that is stated would have shown.
const visibleShare = 0.8

// smallestIn is the slip (%) that would have shown, with 95 % probability, had it lasted 1.5 s (2 s on a slow link) anywhere in four fifths of
// the stretch. Where the tyres may spin no slip can be told; nil when that, or too short a stretch, leaves nothing.
func (r *record) smallestIn(s *stretch) *float64 {
	t := r.track
	length, whole := 1.5, 1.0
	if r.period > 0.25 { // the window that finds it has its rise and its fall in it; on a quick link a shorter one has not
		length = math.Max(2, 3.2*r.period)
		whole = 1 - flank/length
	}
	limit := math.Inf(1)
	if t.Model.Creep > 0 {
		limit = r.spinForce()
	} else if s.run.gear == 1 {
		s.unseen = "first gear: the wheels may spin as well as the clutch"
		return nil
	}
	var sizes []float64
	spins := math.Inf(-1)
	start := s.lo
	for end := s.lo + 1; end <= s.hi; end++ {
		if r.phi[end-1] > limit {
			spins = t.T[end-1]
		}
		for t.T[end-1]-t.T[start] > length {
			start++
		}
		if end-start < 3 || t.T[end-1]-t.T[start] < length-1.2*r.period-0.1 {
			continue
		}
		size := math.Inf(1)
		if spins < t.T[start] {
			size = r.test(start, end, s.run.index).smallest() / whole
		}
		sizes = append(sizes, size)
	}
	x := quantile(sizes, visibleShare)
	switch {
	case len(sizes) == 0:
		s.unseen = "too short"
	case math.IsInf(x, 1):
		s.unseen = "the wheels were pushed so hard that they may spin as well as the clutch: use a higher gear"
	default:
		return &x
	}
	return nil
}

// maxSlip is the largest mean slip (%) over about a second.
func (r *record) maxSlip(lo, hi, index int) float64 {
	t := r.track.T
	top, start := math.Inf(-1), lo
	for end := lo + 1; end <= hi; end++ {
		for t[end-1]-t[start] > math.Max(1, 2.2*r.period) {
			start++
		}
		if end-start < 3 {
			continue
		}
		w := r.test(start, end, index)
		top = math.Max(top, 100*w.mean/(w.mean+w.v))
	}
	if math.IsInf(top, -1) {
		return 0
	}
	return top
}

// pullingRPM is the engine speed from which full load is near the most that the engine gives: a third of its limit. Full load below it is a foot that
// labours a slow engine, and tests no clutch. Common practice, no source.
func pullingRPM(veh *vehicle.Vehicle) float64 {
	if veh != nil && veh.Engine.LimitRPM > 0 {
		return veh.Engine.LimitRPM / 3
	}
	return 2000
}

// fullLoad tells whether load was full for at least half a second at an engine speed from rpm on.
func (r *record) fullLoad(s *stretch, rpm float64) bool {
	t := r.track
	since := math.NaN()
	for i := s.lo; i < s.hi; i++ {
		if x := t.Load[i]; !(x >= fullFrom && t.RPM[i] >= rpm) {
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
