package inertia

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

const (
	pullLoad    = 0.95 // of the travel: the torque must be the same in every gear
	pullTime    = 0.7  // s of it that is used: first gear is over in a second and a half
	pullSpan    = 1.3  // last over first engine speed
	pullListed  = 1.15 // the same of one that is told of though it is too short
	leastTravel = 40.0 // % of its travel that a channel of the load must have shown
	pullSkip    = 0.4  // s after the load came on: boost, tip-in swing
)

// pulls finds the stretches of full load in one gear: engine speed rises as road speed does, accelerator or
// throttle down. A log that shows neither has none: full throttle cannot be told from part throttle there.
func (s *preparedLog) pulls(gears []rung, lag float64) []Run {
	load := s.loadSignal()
	if load == nil || s.speed == nil || len(gears) == 0 {
		return nil
	}
	var out []Run
	start, loads := -1, cursor{series: load}
	for i := 0; i <= len(s.t); i++ {
		ok := false
		if i < len(s.t) {
			v, seen := loads.near(s.t[i], 1)
			ok = seen && v >= pullLoad && (start < 0 || s.n[i] > s.n[i-1]-s.ripple && s.t[i]-s.t[i-1] < holeValues*s.interval)
		}
		switch {
		case ok && start < 0:
			start = i
		case !ok && start >= 0:
			gear, from, to := s.inGear(&fall{t: s.t[start:i], n: s.n[start:i]}, gears, lag)
			if gear > 0 {
				if r, listed := s.judgePull(s.t[start+from], s.t[start+to], gear); listed {
					out = append(out, r)
				}
			}
			start = -1
		}
	}
	return out
}

// loadSignal is how far the accelerator, else the throttle, is down, 0 to 1 between what the log shows of it;
// nil when the log shows too little of its travel. A diesel's throttle stands open whatever it gives.
func (s *preparedLog) loadSignal() *series {
	for _, name := range []string{drive.Pedal, drive.Throttle, drive.EngineLoad} {
		c := s.channel(name)
		if c == nil || name == drive.Throttle && !s.veh.ThrottleTellsLoad() {
			continue
		}
		lo, hi := stats.Quantile(some(c.v), 0.02), stats.Quantile(some(c.v), 0.999)
		if hi-lo < leastTravel {
			continue
		}
		out := &series{t: c.t, v: make([]float64, len(c.v))}
		for i, v := range c.v {
			out.v[i] = (v - lo) / (hi - lo)
		}
		return out
	}
	return nil
}

// judgePull keeps the samples of engine speed of a stretch of load; short ones are ordinary driving and not listed.
func (s *preparedLog) judgePull(from, to float64, gear int) (Run, bool) {
	if to-from < pullTime+pullSkip {
		return Run{}, false
	}
	r := Run{Input: s.input, Session: s.session, Start: from, End: to, Kind: PullRun, Gear: gear}
	lo, hi := s.among(from+pullSkip, to-tick)
	for i := lo; i < hi; i++ {
		if t := s.t[i]; t >= from+pullSkip && t <= to-tick {
			r.T, r.RPM = append(r.T, t), append(r.RPM, s.n[i])
		}
	}
	n := len(r.T)
	if n < minKept+1 {
		r.refuse(finding.PullTooShort, finding.Duration("lasting", to-from))
		return r, n > 0
	}
	r.MeanRate = (r.RPM[n-1] - r.RPM[0]) / (r.T[n-1] - r.T[0])
	if r.RPM[n-1] < pullSpan*r.RPM[0] || r.RPM[0] <= 0 {
		r.refuse(finding.PullSpanTooSmall, finding.EngineSpeed("from", r.RPM[0]), finding.EngineSpeed("to", r.RPM[n-1]))
		return r, r.RPM[n-1] > pullListed*r.RPM[0]
	}
	r.Used = true
	return r, true
}

const (
	pullGears   = 3  // the lowest, where the engine's own inertia takes most
	pullsEach   = 3  // the longest of a gear; more of them do not help, the gear's efficiency and the grade limit
	pullSamples = 24 // of a pull, evenly spread: engine speed is smooth in it
)

// repeated returns the longest pulls of the lowest gears that were pulled in twice at least, gear by gear, with
// those gears in rising order: a single pull cannot be checked.
func repeated(runs []*Run) (pulls []*Run, gears []int) {
	of := map[int][]*Run{}
	for _, r := range runs {
		of[r.Gear] = append(of[r.Gear], r)
	}
	for _, gear := range slices.Sorted(maps.Keys(of)) {
		own := of[gear]
		if len(own) < 2 || len(gears) == pullGears {
			continue
		}
		slices.SortStableFunc(own, func(a, b *Run) int {
			return cmp.Compare(b.RPM[len(b.RPM)-1]/b.RPM[0], a.RPM[len(a.RPM)-1]/a.RPM[0])
		})
		for _, r := range own[:min(len(own), pullsEach)] {
			pulls = append(pulls, r.thinned(pullSamples))
		}
		gears = append(gears, gear)
	}
	return pulls, gears
}

// thinned is a copy of a run with at most n of its samples, first and last among them.
func (r *Run) thinned(n int) *Run {
	k := len(r.T)
	if k <= n {
		return r
	}
	out := *r
	out.T, out.RPM = make([]float64, n), make([]float64, n)
	for i := range n {
		j := i * (k - 1) / (n - 1)
		out.T[i], out.RPM[i] = r.T[j], r.RPM[j]
	}
	return &out
}

// rpmRange returns the lowest and highest engine speed that at least two gears cover.
func rpmRange(runs []*Run) (lo, hi float64) {
	lo, hi = math.Inf(1), 0
	for _, r := range runs {
		lo, hi = math.Min(lo, r.RPM[0]), math.Max(hi, r.RPM[len(r.RPM)-1])
	}
	return lo, hi
}
