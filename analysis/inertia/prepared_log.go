package inertia

import (
	"math"
	"sort"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

const (
	fewestValues  = 8 // of engine speed in which a run can lie
	fewestOfScale = 4 // of a channel that tell its lowest value
	// rpm above idle, where an engine never stands still for two values; the idle controller is left alone down
	// to there
	repeatsAbove = 400.0
	runningRPM   = 300.0 // a slower engine does not run
	bridged      = 3.0   // s between values of road speed that are bridged
	movingKmh    = 8.0   // km/h from which steps of road speed leave a gear to tell

	leastRipple, mostRipple = 40.0, 200.0 // rpm
	rippleNoise             = 4.0         // standard deviations of noise that a turn exceeds,
	rippleSteps             = 1.5         // and usual steps

	bottomRPM     = 1500.0 // fuel resume of most engines lies below. Common practice, no source
	slowBottomRPM = 1250.0
	bottomAbove   = 600.0 // rpm above idle; the idle controller begins to catch the engine there
)

// preparedLog is one log prepared for looking for runs: clean engine speed and what the other channels say beside it.
type preparedLog struct {
	input, session int
	log            *drive.Log
	veh            *vehicle.Vehicle
	t, n           []float64 // engine speed: s in order, rpm; repeated values above idle dropped
	idle           float64   // rpm
	ripple         float64   // rpm; a change smaller than this is noise
	interval       float64   // s, median between samples
	speed          *series   // km/h; nil when no road speed was recorded
	still          float64   // km/h; at most this is standing
	closed         []closedThrottle
	clutch         *series
	fuel           *series
	oil, coolant   *series
	pressure       *series            // kPa, intake manifold
	others         map[string]*series // channels that were asked for since, nil where there is none
}

// channel returns a channel of the log, nil where there is none.
func (s *preparedLog) channel(name string) *series {
	c, known := s.others[name]
	if !known {
		c = newSeries(s.log, name)
		s.others[name] = c
	}
	return c
}

// series is a channel's finite samples in the order of their time stamps. Nobody changes them.
type series struct{ t, v []float64 }

func newSeries(l *drive.Log, name string) *series {
	t, v := l.Channel(name).InOrder()
	if len(t) == 0 {
		return nil
	}
	return &series{t, v}
}

// between returns the index range of samples in [from, to].
func (s *series) between(from, to float64) (i, j int) {
	i = sort.SearchFloat64s(s.t, from)
	j = sort.SearchFloat64s(s.t, math.Nextafter(to, math.Inf(1)))
	return i, max(i, j)
}

// at returns the linear interpolation at t; ok is false outside the samples or across a gap longer than gap seconds.
func (s *series) at(t, gap float64) (float64, bool) {
	i := sort.SearchFloat64s(s.t, t)
	switch {
	case i < len(s.t) && s.t[i] == t:
		return s.v[i], true
	case i == 0 || i == len(s.t) || s.t[i]-s.t[i-1] > gap:
		return 0, false
	}
	f := (t - s.t[i-1]) / (s.t[i] - s.t[i-1])
	return s.v[i-1] + f*(s.v[i]-s.v[i-1]), true
}

// near returns the value of the sample nearest to t, if it lies within gap seconds.
func (s *series) near(t, gap float64) (float64, bool) {
	if s == nil {
		return 0, false
	}
	return (&cursor{series: s}).near(t, gap)
}

// cursor looks a series up at times each of which mostly follows the one before closely.
type cursor struct {
	*series
	i int // of the first sample that was not before the last of these times
}

// engine is a cursor over engine speed.
func (s *preparedLog) engine() *cursor { return &cursor{series: &series{t: s.t, v: s.n}} }

// near is as of the series.
func (c *cursor) near(t, gap float64) (float64, bool) {
	best, found := 0.0, false
	after := c.place(t)
	for k := after - 1; k <= after; k++ {
		if k >= 0 && k < len(c.t) {
			if d := math.Abs(c.t[k] - t); d <= gap {
				best, gap, found = c.v[k], d, true
			}
		}
	}
	return best, found
}

// place is the first sample that is not before t.
func (c *cursor) place(t float64) int {
	for range 2 {
		if (c.i == 0 || c.t[c.i-1] < t) && (c.i == len(c.t) || c.t[c.i] >= t) {
			return c.i
		}
		c.i = min(c.i+1, len(c.t))
	}
	c.i = sort.SearchFloat64s(c.t, t)
	return c.i
}

// some is every so many of the values, at least 4000 where there are that many: a quantile of an hour needs no more.
func some(v []float64) []float64 {
	step := len(v) / 4000
	if step < 2 {
		return v
	}
	out := make([]float64, 0, len(v)/step+1)
	for i := 0; i < len(v); i += step {
		out = append(out, v[i])
	}
	return out
}

// observe prepares a log; nil when it has no usable engine speed.
func observe(input, session int, l *drive.Log, veh *vehicle.Vehicle) *preparedLog {
	times, speeds := l.Channel(drive.EngineSpeed).InOrder()
	if times == nil {
		return nil
	}
	s := &preparedLog{input: input, session: session, log: l, veh: veh, others: map[string]*series{}}
	s.speed, s.still = newSeries(l, drive.VehicleSpeed), 1
	if s.speed == nil {
		if s.speed = newSeries(l, drive.UndrivenSpeed); s.speed == nil {
			s.speed, s.still = newSeries(l, drive.GPSSpeed), 2.5 // a receiver at rest shows a walking pace
		}
	}
	s.idle = s.idleSpeed()
	s.t, s.n = make([]float64, 0, len(times)), make([]float64, 0, len(times))
	for i, t := range times {
		v := speeds[i]
		if v < 0 {
			continue
		}
		// A value that repeats while the engine is away from idle is an old one shown again, not a new one.
		if k := len(s.n); k > 0 && v == s.n[k-1] && v > s.idle+repeatsAbove {
			continue
		}
		s.t, s.n = append(s.t, t), append(s.n, v)
	}
	if len(s.t) < fewestValues {
		return nil
	}
	s.ripple, s.interval = ripple(s.n), medianInterval(s.t)
	s.clutch, s.fuel = newSeries(l, drive.ClutchSwitch), newSeries(l, drive.FuelSystemStatus)
	s.oil, s.coolant = newSeries(l, drive.OilTemp), newSeries(l, drive.CoolantTemp)
	s.pressure = newSeries(l, drive.IntakePressure)
	s.learnClosed()
	s.learnPressure()
	return s
}

// among returns the samples of engine speed [lo, hi) among which all between two times are.
func (s *preparedLog) among(from, to float64) (lo, hi int) {
	return sort.SearchFloat64s(s.t, from), sort.SearchFloat64s(s.t, math.Nextafter(to, math.Inf(1)))
}

// idleSpeed is at what the engine idles.
func (s *preparedLog) idleSpeed() float64 {
	var idle gearstate.Idle
	n, v := s.channel(drive.EngineSpeed), s.speed
	switch {
	case n == nil:
	case v == nil:
		idle.Add(n.t, n.v, nil, nil, 0)
	default:
		idle.Add(n.t, n.v, v.t, v.v, s.still)
	}
	return idle.RPM(s.veh)
}

// ripple is the change of engine speed that noise and rounding make: never nothing, more for coarse or noisy signals.
func ripple(n []float64) float64 {
	second, step := make([]float64, 0, len(n)), make([]float64, 0, len(n))
	for i := 2; i < len(n); i++ {
		second = append(second, n[i]-2*n[i-1]+n[i-2])
	}
	for i := 1; i < len(n); i++ {
		if d := math.Abs(n[i] - n[i-1]); d > 0 {
			step = append(step, d)
		}
	}
	noise := stats.MADScale * stats.MAD(some(second), 0) / math.Sqrt(6)
	return math.Min(mostRipple, math.Max(leastRipple,
		math.Max(rippleNoise*noise, rippleSteps*stats.Quantile(some(step), 0.02))))
}

func medianInterval(t []float64) float64 {
	if d := stats.MedianStep(t); d > 0 {
		return d
	}
	return math.Inf(1)
}

// bottom is the lowest engine speed of a fall that is used: above fuel resume and the idle controller.
func (s *preparedLog) bottom() float64 { return math.Max(bottomRPM, s.idle+bottomAbove) }

// freeRevBottom is the same for free revs. On a slow link they are used down to just above the idle controller:
// each sample more is worth what fuel resume may bend there, for the timing error of a fall goes with its
// duration to the power of 1.5. Fuel that comes back at an engine speed is part of the shape that all runs
// share, and what it bends (0.4 % with fuel back at 1700 rpm) is small beside that.
func (s *preparedLog) freeRevBottom() float64 {
	if s.interval < gearstate.SlowLink {
		return s.bottom()
	}
	return math.Max(slowBottomRPM, s.idle+repeatsAbove)
}
