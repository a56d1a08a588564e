package inertia

import (
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"
)

const (
	coastTime  = 3.0 // s
	coastFrom  = 15  // km/h
	coastBrake = 1.2 // m/s², what no level road does to a rolling car at these speeds
)

// coasts finds the stretches in which the car rolls with the engine away from every gear: at idle, or below what the
// highest gear would ask for.
func (s *preparedLog) coasts(gears []rung) []Run {
	var out []Run
	if s.speed == nil {
		return nil
	}
	top := math.Inf(1)
	for _, g := range gears {
		top = math.Min(top, g.k)
	}
	rpm := s.engine()
	start := -1
	for i := 0; i <= len(s.speed.t); i++ {
		ok := false
		if i < len(s.speed.t) {
			v := s.speed.v[i]
			n, seen := rpm.near(s.speed.t[i], bridged)
			ok = v >= movingKmh && seen && n > 0 && n < s.idle+coastAbove &&
				(math.IsInf(top, 1) || n < belowTop*top*v || !matches(gears, n, v))
			if ok && start >= 0 && v > s.speed.v[i-1]+coastRise {
				ok = false
			}
		}
		switch {
		case ok && start < 0:
			start = i
		case !ok && start >= 0:
			if r, listed := s.judgeCoast(start, i); listed {
				out = append(out, r)
			}
			start = -1
		}
	}
	return out
}

func matches(gears []rung, n, v float64) bool {
	for _, g := range gears {
		if math.Abs(n/(g.k*v)-1) < coastMatch {
			return true
		}
	}
	return false
}

func (s *preparedLog) judgeCoast(i, j int) (Run, bool) {
	t, v := s.speed.t[i:j], s.speed.v[i:j]
	k := untilBraked(t, v)
	t, v = t[:k], v[:k]
	if k < coastValues || v[0] < coastFrom || t[k-1]-t[0] < coastTime {
		return Run{}, false
	}
	r := Run{Input: s.input, Session: s.session, Kind: Coast, Start: t[0], End: t[k-1], T: t, RPM: nil, speed: v}
	slowing := (v[0] - v[k-1]) / 3.6 / (t[k-1] - t[0])
	switch {
	case slowing > coastBrake:
		r.refuse(finding.Braked, finding.Acceleration("slowing", slowing))
	case v[0]-v[k-1] < coastFall:
		r.refuse(finding.TooShort, finding.Duration("lasting", t[k-1]-t[0]))
	default:
		r.Used = true
	}
	return r, true
}

const (
	coastEnd  = 0.7 // s that are left out at the end: the foot is on its way to the brake
	coastStep = 1.6 // km/h that steps of a displayed speed add to a fall
	coastRise = 1.5 // km/h from one value to the next that end it: a car does not speed up in neutral
	// A coast-down in neutral: engine speed near idle, and below what the highest gear would have, far enough
	// that rounding does not matter.
	coastAbove   = 200.0 // rpm above idle
	belowTop     = 0.8   // of the highest gear's
	coastMatch   = 0.06  // relative, within which engine speed is that of a gear
	coastValues  = 4     // samples
	coastFall    = 4.0   // km/h; a shorter fall is all steps of the display
	leastSlowing = 0.3   // km/h/s; a car on the level slows more
	// coastSteep is how many times steeper than its first part a coast-down may fall: rolling and air make it
	// flatter as it goes.
	coastSteep = 2.0
)

// untilBraked is how many samples of a coast-down come before the foot brake ends it: a fall over a second or
// two that is steeper than the first part of the run, steps of the display aside.
func untilBraked(t, v []float64) int {
	n := len(t)
	for n > 0 && t[len(t)-1]-t[n-1] < coastEnd {
		n--
	}
	if n < coastValues {
		return n
	}
	m := n / 2
	usual := math.Max((v[0]-v[m])/math.Max(t[m]-t[0], tick), leastSlowing)
	for _, window := range []float64{1.2, 2.5} {
		for i, k := 0, 0; i < n; i++ {
			for k < len(t)-1 && t[k]-t[i] < window {
				k++
			}
			if v[i]-v[k] > coastSteep*usual*(t[k]-t[i])+coastStep {
				n = i
				break
			}
		}
	}
	return n
}

// rolling is the resistance of the car in neutral as a deceleration of displayed speed, p0 + p2 v² in km/h/s
// over km/h.
type rolling struct {
	p0, p2 float64
	cov    [2][2]float64
	source string // coast | vehicle | default
	n      int    // coast-downs used
}

func (r *rolling) at(v float64) float64 { return r.p0 + r.p2*v*v }

// sdAt is the standard deviation of at(v) from the fit or the guess, km/h/s.
func (r *rolling) sdAt(v float64) float64 {
	q := v * v
	return math.Sqrt(math.Max(0, r.cov[0][0]+2*q*r.cov[0][1]+q*q*r.cov[1][1]))
}

const (
	// of the road under one run, as a slope, where a run of the other kind beside it speaks for the same
	// stretch
	gradeSD = 0.005
	beside  = 120.0 // s between two runs over the same stretch, at most
)

// slopeUnder is the standard deviation of the slope under one of these runs: that of a stretch driven over on
// purpose where each has one of the others beside it, else that of ordinary roads.
func slopeUnder(runs, others []*Run) float64 {
	for _, r := range runs {
		near := false
		for _, o := range others {
			near = near || o.Input == r.Input && o.Start-r.End < beside && r.Start-o.End < beside
		}
		if !near {
			return vehicle.UsualSlopeSD
		}
	}
	return gradeSD
}

// guessRoad is the road load of the vehicle file or of a common car, for a car that weighs massC with its
// wheels turning.
func guessRoad(veh *vehicle.Vehicle, massC float64) *rolling {
	toKmh := 3.6 / massC
	l, rollingSD, airSD := veh.Resistance()
	// The linear term is spread over the other two so that both agree at 30 and 70 km/h.
	a, b := 30/3.6, 70/3.6
	f2 := l.F2 + l.F1/(a+b)
	f0 := l.F0 + l.F1*a - l.F1/(a+b)*a*a
	r := &rolling{p0: f0 * toKmh, p2: f2 * toKmh / (3.6 * 3.6), source: "default"}
	if veh.RoadLoad != nil {
		r.source = "vehicle"
	}
	r.cov[0][0], r.cov[1][1] = stats.Square(rollingSD*r.p0), stats.Square(airSD*r.p2)
	return r
}

// fitCoasts fits v' = -(p0 + p2 v²) to all coast-downs at once, each with its own start speed, with the guess
// as the prior of both: short pieces hardly show the air. offset is what displayed speed is low by
// (0.5 when cut off).
func fitCoasts(runs []*Run, guess *rolling, offset, jitter float64) *rolling {
	if len(runs) == 0 {
		return guess
	}
	m, x0, scale := 2, []float64{guess.p0, guess.p2}, []float64{guess.p0, guess.p2}
	runs = slices.Clone(runs)
	for i, r := range runs {
		r = r.thinnedCoast()
		runs[i] = r
		m += len(r.T)
		x0, scale = append(x0, r.speed[0]+offset), append(scale, 10)
	}
	sdV := math.Hypot(0.29, jitter*guess.at(50))
	residuals := func(x, out []float64) {
		for i, known := range []float64{guess.p0, guess.p2} {
			out[i] = (x[i] - known) / math.Max(math.Sqrt(guess.cov[i][i]), 1e-12)
		}
		k := 2
		for i, r := range runs {
			for j, t := range r.T {
				out[k] = (r.speed[j] + offset - coastSpeed(x[0], x[1], x[2+i], t-r.T[0])) / sdV
				k++
			}
		}
	}
	fit, err := stats.Fit(residuals, m, x0, scale)
	if err != nil || fit.X[0] <= 0 || fit.X[1] < 0 {
		return guess
	}
	r := &rolling{p0: fit.X[0], p2: fit.X[1], source: "coast", n: len(runs)}
	worse := math.Max(1, fit.RSS/float64(max(1, m-len(x0))))
	for i := range 2 {
		for j := range 2 {
			r.cov[i][j] = fit.Cov.At(i, j) * worse
		}
	}
	return r
}

// coastSamples of a coast-down carry its shape; between them a display of whole km/h repeats itself.
const coastSamples = 150

// thinnedCoast is a coast-down with every so many of its samples, first included.
func (r *Run) thinnedCoast() *Run {
	step := (len(r.T) + coastSamples - 1) / coastSamples
	if step <= 1 {
		return r
	}
	out := *r
	out.T, out.speed = nil, nil
	for i := 0; i < len(r.T); i += step {
		out.T, out.speed = append(out.T, r.T[i]), append(out.speed, r.speed[i])
	}
	return &out
}

// coastSpeed is the speed after t s of v' = -(p0 + p2 v²) from v0: the arc tangent solution of SAE J1263 (from
// memory).
func coastSpeed(p0, p2, v0, t float64) float64 {
	if p0 <= 0 || p2 <= 1e-12 {
		return math.Max(0, v0-(p0+p2*v0*v0)*t)
	}
	a := math.Sqrt(p2 / p0)
	angle := math.Atan(v0*a) - math.Sqrt(p0*p2)*t
	if angle <= 0 {
		return 0
	}
	return math.Tan(angle) / a
}
