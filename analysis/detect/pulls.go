package detect

import (
	"math"

	"flywitness/analysis/motion"
)

// The gate of a pull: the engine is asked for torque and the car is fast enough for the steps of road speed not
// to matter.
const (
	PullSpeed   = 25.0 // km/h
	loadedFrom  = 0.35 // load fraction
	FullFrom    = 0.80 // load fraction that counts as full
	afterChange = 0.6  // s after a gear change that do not count
	bridge      = 0.5  // s of missing load that do not end a pull
	shortest    = 1.2  // s of a pull
)

// PushedFrom is the wheel force over weight from which a car is pushed by its engine and not by a slope.
const PushedFrom = 0.045

// downhill is the wheel force over weight that a slope can take from a car under load: below, it is braked.
const downhill = -0.03

// loadedAt tells whether sample i is under load.
func (r *Record) loadedAt(i int) bool {
	t := r.Track
	if t.SpeedKmh[i] < PullSpeed {
		return false
	}
	if x := t.Load[i]; !math.IsNaN(x) {
		return x >= loadedFrom && r.Phi(i) >= downhill
	}
	return r.Phi(i) >= PushedFrom
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
	for i := lo; i < hi; {
		if !r.loadedAt(i) {
			i++
			continue
		}
		last := i
		for j := i + 1; j < hi && (j == last+1 || t[j]-t[last] <= bridge); j++ { // the next sample may be late
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

// restAfter is how long (s) after a departure a pull is the clutch's own again.
const restAfter = 0.5

// Rest is what follows the last departure of a pull; false where too little does.
func (r *Record) Rest(p *Pull) (Pull, bool) {
	rest := Pull{Run: p.Run, Lo: p.Lo, Hi: p.Hi}
	t := r.Track.T
	for i := range p.Departures {
		for rest.Lo < rest.Hi && t[rest.Lo] < p.Departures[i].End+restAfter {
			rest.Lo++
		}
	}
	return rest, rest.Lo < rest.Hi && t[rest.Hi-1]-t[rest.Lo] >= shortest
}
