package torquecurve

import (
	"math"
	"sort"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

// Source is one log of a pull or more.
type Source struct {
	Side  int // 0 before the job, 1 after it
	Log   *drive.Log
	Track *gearstate.Track
	Trace slip.Trace   // on the track's clock: slip and slope
	Slips []slip.Event // of this log
}

const (
	settled      = 0.7  // s of full load after which air and boost have come
	settledFoot  = 1.5  // s of it where only the foot tells: boost comes late
	around       = 0.7  // s before and after a slip in which engine speed is not road speed
	mostSlip     = 1.0  // % that tyre and steps make of a locked clutch
	stepOpen     = 0.5  // km/h that a step of road speed adds
	fewestOfLine = 3    // values of a rate
	window       = 0.5  // s over which a rate is taken
	lowestGear   = 2    // in first gear torque limits and the tyres speak
	slowest      = 15.0 // km/h
	brief        = 1.0  // s of full load at least
)

// Gather takes the points at full load out of logs. blind tells that no log says how hard the engine worked:
// the strongest stretches are taken then.
func Gather(sources []Source, veh *vehicle.Vehicle, car *Car) (points []Point, blind bool) {
	full := make([]*foot, len(sources))
	blind = true
	for i := range sources {
		full[i] = footOf(sources[i].Log, veh)
		blind = blind && full[i] == nil
	}
	pull := 0
	for i := range sources {
		s := &sources[i]
		if full[i] == nil && !blind {
			continue
		}
		e := s.engine()
		for _, x := range s.stretches(full[i], car) {
			points = append(points, s.points(e, x, pull)...)
			pull++
		}
	}
	weigh(points)
	if blind {
		points = strongest(points, car)
	}
	return points, blind
}

// stretch is samples [lo, hi) of a track, in one gear at full load.
type stretch struct{ lo, hi, gear int }

// stretches are the parts of a log in which the engine is locked to the wheels at full load.
func (s *Source) stretches(full *foot, car *Car) []stretch {
	var out []stretch
	t := s.Track
	n := min(t.Len(), len(s.Trace.T))
	start, since := -1, math.NaN()
	take := func(end int) {
		if start >= 0 && t.T[end-1]-t.T[start] >= brief {
			out = append(out, stretch{start, end, int(t.Gear[start])})
		}
		start = -1
	}
	for i := range n {
		gear := int(t.Gear[i])
		known := gear >= lowestGear && gear < len(car.Gearing) && car.Gearing[gear] > 0
		ok := known && t.Clutch[i] == gearstate.Locked && t.SpeedKmh[i] >= slowest &&
			math.Abs(s.Trace.SlipPct[i]) < mostSlip+100*stepOpen/t.SpeedKmh[i] &&
			!s.slipping(t.T[i]) && (i == 0 || int(t.Gear[i-1]) == gear) && full.open(t.T[i]) && (full != nil || !s.eased(i))
		switch {
		case !ok:
			take(max(i, 1))
			since = math.NaN()
			continue
		case math.IsNaN(since):
			since = t.T[i]
		case t.T[i]-t.T[i-1] > t.Model.Gap():
			take(i)
			since = t.T[i]
		}
		if start < 0 && t.T[i]-since >= full.settling() {
			start = i
		}
	}
	take(max(n, 1))
	return out
}

// eased tells whether a load that does not stand in per cent of its own full load, a pressure or a torque, shows at
// sample i that the engine can do more: the log knows it higher, or it always is at full load.
func (s *Source) eased(i int) bool { return i < len(s.Track.Load) && s.Track.Load[i] < fullShare }

func (s *Source) slipping(at float64) bool {
	for _, e := range s.Slips {
		if at > e.Start-around && at < e.End+around {
			return true
		}
	}
	return false
}

// engine is the engine speed of a log, its times rising, and the width of the windows in which it tells a rate.
type engine struct {
	t, v  []float64
	width float64 // s
}

func (s *Source) engine() (e engine) {
	e.t, e.v = gearstate.Usable(s.Log.Channel(drive.EngineSpeed), 200, 20000)
	e.width = math.Max(window, gearstate.Wait(stats.MedianStep(e.t)))
	return e
}

// points cuts a stretch into windows and reads each from engine speed, which is the sharpest signal of the
// car's speed.
func (s *Source) points(e engine, x stretch, pull int) []Point {
	rt, rv := e.t, e.v
	from, to := s.Track.T[x.lo], s.Track.T[x.hi-1]
	var out []Point
	count := int((to - from) / e.width)
	k := sort.SearchFloat64s(rt, from)
	for q := range count {
		a, b := from+(to-from)*float64(q)/float64(count), from+(to-from)*float64(q+1)/float64(count)
		for k < len(rt) && rt[k] < a {
			k++
		}
		j := k
		for j < len(rt) && rt[j] < b {
			j++
		}
		rpm, rate, rss, spread := line(rt[k:j], rv[k:j])
		if j-k < fewestOfLine || spread <= 0 || rate <= 0 {
			continue
		}
		i := x.lo
		for i+1 < x.hi && s.Track.T[i] < (a+b)/2 {
			i++
		}
		// AlphaSD holds the residual's variance and the window's spread until weigh has pooled them.
		out = append(out, Point{Pull: pull, Side: s.Side, Gear: x.gear, RPM: rpm, Alpha: rate * math.Pi / 30,
			AlphaSD: math.Sqrt(rss/float64(j-k-2)/spread) * math.Pi / 30, Slope: s.Trace.Slope[i], SlopeSD: s.Trace.SlopeSD[i]})
	}
	return out
}

// line fits a straight line: its middle, its slope, the sum of its squared residuals and the spread of t about
// its mean.
func line(t, v []float64) (mean, slope, rss, spread float64) {
	n := float64(len(t))
	if n < fewestOfLine {
		return 0, 0, 0, 0
	}
	var mt, mv, tt, tv float64
	for i := range t {
		mt, mv = mt+t[i]/n, mv+v[i]/n
	}
	for i := range t {
		tt, tv = tt+(t[i]-mt)*(t[i]-mt), tv+(t[i]-mt)*(v[i]-mv)
	}
	if tt == 0 {
		return mv, 0, 0, 0
	}
	slope = tv / tt
	for i := range t {
		r := v[i] - mv - slope*(t[i]-mt)
		rss += r * r
	}
	return mv, slope, rss, tt
}

// weigh gives every point the usual error of its rate: three or four samples do not tell their own.
func weigh(points []Point) {
	sum, n := 0.0, 0.0
	for i := range points {
		if r := points[i].AlphaSD / points[i].Alpha; r > 0 {
			sum, n = sum+r*r, n+1
		}
	}
	if n == 0 {
		return
	}
	usual := math.Sqrt(sum / n)
	for i := range points {
		points[i].AlphaSD = usual * points[i].Alpha
	}
}

const (
	nearBy = 400.0 // rpm within which pulls are set against each other
	strong = 0.9   // of the strongest there
)

// strongest keeps the points that give at least nine tenths of the most torque about their engine speed.
func strongest(points []Point, car *Car) []Point {
	var out []Point
	for i := range points {
		var others []float64
		for j := range points {
			if math.Abs(points[j].RPM-points[i].RPM) < nearBy {
				others = append(others, points[j].torque(car))
			}
		}
		if points[i].torque(car) >= strong*stats.Quantile(others, 0.9) {
			out = append(out, points[i])
		}
	}
	return out
}
