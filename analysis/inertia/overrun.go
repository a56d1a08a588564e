package inertia

import (
	"math"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"
)

// rung is one gear of the ladder: engine speed per displayed road speed.
type rung struct {
	gear int
	k    float64 // rpm per km/h
	slop float64 // how far the displayed speed's scale may be off, relative; 0 when the log itself taught k
}

// ladder is what the log taught, completed by what the vehicle file says: a gear too rarely used to be learnt
// takes the scale of the others.
func ladder(cal *calibrate.Calibration, veh *vehicle.Vehicle) []rung {
	var out []rung
	var scale []float64
	known := map[int]bool{}
	if cal != nil {
		for _, g := range cal.Gears {
			out, known[g.Gear] = append(out, rung{gear: g.Gear, k: g.RPMPerKmh.Value}), true
			if veh != nil && veh.RPMPerKmh(g.Gear) > 0 {
				scale = append(scale, g.RPMPerKmh.Value/veh.RPMPerKmh(g.Gear))
			}
		}
	}
	if veh == nil {
		return out
	}
	q := 1.0
	if len(scale) > 0 {
		q = stats.Median(scale)
	}
	for g := range veh.Gearbox.Ratios {
		if k := veh.RPMPerKmh(g + 1); k > 0 && !known[g+1] {
			out = append(out, rung{g + 1, k * q, speedometerSlop})
		}
	}
	return out
}

const (
	settleTime      = 0.6   // s after the foot lifts that the driveline swings and the manifold empties
	gearMatch       = 0.04  // of engine speed within the expected one is in gear
	defaultLag      = 0.3   // s that displayed speed is late, until it is measured
	overrunSpan     = 1.25  // first over last engine speed
	overrunAbove    = 200.0 // rpm above the bottom from which a fall can be one
	overrunFall     = 800.0 // rpm of a refused one that is told: the many short lifts of driving are no attempts
	stepMatch       = 1.5   // km/h that steps of road speed may be off by
	speedometerSlop = 0.09  // relative; half the step to the next gear at the closest
)

// overruns finds the falls of engine speed in gear with the throttle shut.
func (s *preparedLog) overruns(gears []rung, lag float64) []Run {
	var out []Run
	if s.speed == nil || len(gears) == 0 {
		return nil
	}
	for _, f := range s.falls() {
		if f.n[0] < f.bottom+overrunAbove {
			continue
		}
		gear, i, j := s.inGear(f, gears, lag)
		if gear == 0 || f.t[j]-f.t[i] < 1 {
			continue
		}
		r := Run{Input: s.input, Session: s.session, Kind: Overrun, Gear: gear, Start: f.t[i], End: f.t[j]}
		s.judgeOverrun(&r, f.t[i:j+1], f.n[i:j+1], f.bottom)
		// The many short lifts of ordinary driving are no attempts at this run.
		if r.Used || f.n[i]-f.n[j] > overrunFall {
			out = append(out, r)
		}
	}
	return out
}

// inGear returns the gear whose expected engine speed the fall follows longest, with the first and last index of that
// stretch; gear 0 when it follows none.
func (s *preparedLog) inGear(f *fall, gears []rung, lag float64) (gear, from, to int) {
	v := s.movingAlong(f, lag)
	best := 2
	for _, g := range gears {
		k := ownScale(f, g, v)
		start := -1
		for i := 0; i <= len(f.t); i++ {
			ok := i < len(f.t) && math.Abs(f.n[i]/(k*v[i])-1) < math.Max(gearMatch, stepMatch/v[i])
			switch {
			case ok && start < 0:
				start = i
			case !ok && start >= 0:
				if i-start > best {
					best, gear, from, to = i-start, g.gear, start, i-1
				}
				start = -1
			}
		}
	}
	return gear, from, to
}

// movingAlong is road speed (km/h) at each sample of a fall; NaN where it is not known, or too low to leave a gear to
// tell.
func (s *preparedLog) movingAlong(f *fall, lag float64) []float64 {
	out := make([]float64, len(f.t))
	for i, t := range f.t {
		out[i] = math.NaN()
		if v, seen := s.speed.at(t+lag, bridged); seen && v > movingKmh {
			out[i] = v
		}
	}
	return out
}

// ownScale is a gear's engine speed per displayed speed: as learnt, or for a gear known from the vehicle file
// only, as this fall shows it at speeds v, within what speedometers and tyres are off by.
func ownScale(f *fall, g rung, v []float64) float64 {
	if g.slop == 0 {
		return g.k
	}
	var q []float64
	for i, x := range v {
		if r := f.n[i] / (g.k * x); math.Abs(r-1) < g.slop {
			q = append(q, r)
		}
	}
	if len(q) == 0 {
		return g.k
	}
	return g.k * stats.Median(q)
}

func (s *preparedLog) judgeOverrun(r *Run, t, n []float64, bottom float64) {
	from := t[0] + settleTime
	for _, c := range s.closed {
		if at, _, open := c.lastOpen(t[0]-1, t[len(t)-1]-0.5); open {
			from = math.Max(from, at+settleTime)
		}
	}
	i := 0
	for i < len(t) && t[i] < from {
		i++
	}
	j := i
	for j < len(t) && n[j] >= bottom {
		j++
	}
	t, n = t[i:j], n[i:j]
	k := len(t)
	switch {
	case k < minKept:
		r.refuse(finding.TooFewSamples, finding.Count("samples", k))
		return
	case n[0]/n[k-1] < overrunSpan:
		r.refuse(finding.SpanTooSmall, finding.EngineSpeed("from", n[0]), finding.EngineSpeed("to", n[k-1]))
		return
	}
	r.T, r.RPM, r.Used = t, n, true
	r.MeanRate = (n[0] - n[k-1]) / (t[k-1] - t[0])
}
