package gearstate

import (
	"math"
	"sort"

	"flywitness/analysis/stats"
)

// Observation is all that the decoder sees of one road speed sample.
type Observation struct {
	T     float64 // s, moment of the sample with the lag removed
	DT    float64 // s since the observation before, 0 for the first
	V     float64 // km/h, offset added
	N     float64 // rpm at T, interpolated between its neighbours
	NDot  float64 // rpm/s around T
	A     float64 // km/h/s around T, from road speed alone
	Load  float64 // fraction, NaN when not known
	Fresh float64 // s of driving that load samples since the observation before stand for, at most longestFresh each
	Valid bool    // false when engine speed has a gap here
}

const (
	rateSpan     = 0.2  // s; a rate of engine speed over less is noise of the stamps
	slopeValues  = 1.6  // intervals on either side from which an acceleration is taken: three or four values
	fewestOfLine = 3    // values through which a line is laid
	atOnce       = 0.02 // s within which two stamps are one moment
	longestFresh = 0.25 // s of driving that one load sample speaks for at most
	loadStands   = 3.0  // s for which a load stands at least,
	loadValues   = 4.0  // and values: a channel that is polled rarely
)

// column is a signal: its values at their times (s).
type column struct{ t, v []float64 }

func (c *column) push(t, v float64) { c.t, c.v = append(c.t, t), append(c.v, v) }

func (c *column) len() int { return len(c.t) }

// end is the time of the last value, -Inf where there is none.
func (c *column) end() float64 {
	if len(c.t) == 0 {
		return math.Inf(-1)
	}
	return c.t[len(c.t)-1]
}

// stretch returns the values from one time up to another, in the same memory.
func stretch(t, v []float64, from, to float64) column {
	i, j := sort.SearchFloat64s(t, from), sort.SearchFloat64s(t, to)
	return column{t[i:j:j], v[i:j:j]}
}

// forget drops the first n values.
func (c *column) forget(n int) {
	c.t, c.v = append(c.t[:0], c.t[n:]...), append(c.v[:0], c.v[n:]...)
}

// aligner brings the streams of a log to one clock, that of road speed. The fast and fine signal is delayed to
// the slow and coarse one, never the reverse: a stepped speed cannot be advanced.
type aligner struct {
	m       *Model
	ahead   float64 // s of road speed after a sample that may be waited for: 0 live
	rpm     column
	speed   column
	load    column // raw
	nextRPM int    // first rpm sample not before the moment of the next observation
	next    int    // speed sample that becomes the next observation
	loaded  int    // load samples consumed
	current float64
	ended   bool
	lastT   float64
	first   bool
	gap     float64 // longest step between rpm samples that is bridged
	stands  float64 // s for which a load stands
	half    float64 // half window of the acceleration
	window  window  // of the acceleration
}

func newAligner(m *Model, ahead float64) *aligner {
	return &aligner{m: m, ahead: ahead, first: true, current: math.NaN(),
		gap: SignalGap(m.Period), stands: max(loadStands, loadValues*m.Period),
		half: max(offlineAhead, slopeValues*m.Period)}
}

// poll fills o with the next observation if enough of the streams has arrived.
func (a *aligner) poll(o *Observation) bool {
	if a.next >= a.speed.len() {
		return false
	}
	t := a.speed.t[a.next]
	at := t - a.m.Lag
	for a.nextRPM < a.rpm.len() && a.rpm.t[a.nextRPM] < at {
		a.nextRPM++
	}
	if !a.ended {
		if a.nextRPM >= a.rpm.len() && !a.stale(at) {
			return false
		}
		if a.speed.end() < t+a.ahead && a.rpm.end() < t+a.ahead+1 {
			return false
		}
	}
	o.T, o.DT, o.V = at, 0, a.m.trueSpeed(a.speed.v[a.next])
	if a.first {
		a.first = false
	} else {
		o.DT = at - a.lastT
	}
	a.lastT = at
	var rpm, rate, accel, load, fresh [1]float64
	moment := [...]float64{at}
	a.engine(moment[:], rpm[:], rate[:])
	a.slopes(a.next, accel[:])
	a.loads(moment[:], load[:], fresh[:])
	o.N, o.NDot, o.Valid = rpm[0], rate[0], !math.IsNaN(rpm[0])
	o.A, o.Load, o.Fresh = accel[0], load[0], fresh[0]
	a.next++
	a.trim()
	return true
}

// fill fills samples [lo, hi) of a track with what can be observed of a recorded drive, column by column, and fresh
// with what loads tells of each. The track knows its accelerations.
func (a *aligner) fill(tr *Track, lo, hi int, fresh []float64) {
	for i := lo; i < hi; i++ {
		tr.T[i], tr.SpeedKmh[i] = a.speed.t[i]-a.m.Lag, a.m.trueSpeed(a.speed.v[i])
	}
	a.engine(tr.T[lo:hi], tr.RPM[lo:hi], tr.RPMRate[lo:hi])
	a.loads(tr.T[lo:hi], tr.Load[lo:hi], fresh)
}

// stale tells that engine speed has fallen silent, so that waiting for it is pointless.
func (a *aligner) stale(at float64) bool {
	return a.speed.end()-a.m.Lag > at+a.gap+1
}

// engine interpolates engine speed and its rate at moments that rise; NaN in a gap.
func (a *aligner) engine(moments, rpm, rate []float64) {
	t, v, j := a.rpm.t, a.rpm.v, a.nextRPM
	for i, at := range moments {
		for j < len(t) && t[j] < at {
			j++
		}
		rpm[i], rate[i] = math.NaN(), 0
		if j == 0 || j >= len(t) {
			if j < len(t) && t[j] == at {
				rpm[i] = v[j]
			}
			continue
		}
		lo, hi := j-1, j
		if t[hi]-t[lo] > a.gap {
			continue
		}
		rpm[i] = v[lo] + (v[hi]-v[lo])*(at-t[lo])/(t[hi]-t[lo])
		for t[hi]-t[lo] < rateSpan {
			widened := false
			if lo > 0 && at-t[lo-1] < a.gap {
				lo, widened = lo-1, true
			}
			if hi+1 < len(t) && t[hi+1]-at < a.gap {
				hi, widened = hi+1, true
			}
			if !widened {
				break
			}
		}
		rate[i] = (v[hi] - v[lo]) / (t[hi] - t[lo])
	}
	a.nextRPM = j
}

// window is a stretch of road speed samples [lo, hi) that slides on with time, and a line through it. Its
// origin follows, so that the sums stay small and exact.
type window struct {
	lo, hi      int
	t0, v0      float64
	line        stats.Line
	sinceOrigin int
}

// slopes are the least-squares slopes of road speed around its samples from first on, over what has arrived.
func (a *aligner) slopes(first int, out []float64) {
	t, v, w := a.speed.t, a.speed.v, a.window
	back := a.half
	if a.ahead == 0 {
		back = 1.6 * a.half // a causal window must be longer for the same noise
	}
	for i := range out {
		next := first + i
		at := t[next]
		for w.lo < next && at-t[w.lo] > back {
			if w.lo < w.hi {
				w.line.Remove(t[w.lo]-w.t0, v[w.lo]-w.v0)
			}
			w.lo++
		}
		w.hi = max(w.hi, w.lo)
		if w.sinceOrigin--; w.sinceOrigin < 0 {
			w = window{lo: w.lo, hi: w.lo, t0: at, v0: v[next], sinceOrigin: 200}
		}
		for w.hi < len(t) && (w.hi <= next || t[w.hi]-at <= a.ahead) {
			w.line.Add(t[w.hi]-w.t0, v[w.hi]-w.v0)
			w.hi++
		}
		out[i] = 0
		if w.line.N >= fewestOfLine && w.line.Spread() > 1e-9 {
			out[i] = w.line.Slope()
		}
	}
	a.window = w
}

// loads are the loads held at moments that rise, and how much driving the samples since the moment before stand for.
func (a *aligner) loads(moments, load, fresh []float64) {
	t, v, n := a.load.t, a.load.v, a.loaded
	for i, at := range moments {
		load[i], fresh[i] = math.NaN(), 0
		news, before := 0.0, n
		for n < len(t) && t[n] <= at+atOnce {
			if n > 0 {
				news += min(longestFresh, t[n]-t[n-1])
			}
			n++
		}
		if n > before {
			a.current = a.m.Load.Fraction(v[n-1])
		}
		if n > 0 && at-t[n-1] <= a.stands {
			load[i], fresh[i] = a.current, news
		}
	}
	a.loaded = n
}

// trim forgets samples that no later observation needs, so that a live decoder runs for ever in constant memory.
func (a *aligner) trim() {
	const keep = 4096
	if a.ended { // a recorded drive lies in memory anyway
		return
	}
	cut := func(c *column, at int) int {
		if at < keep {
			return 0
		}
		n := at - keep/4
		c.forget(n)
		return n
	}
	a.nextRPM -= cut(&a.rpm, a.nextRPM)
	gone := cut(&a.speed, a.next)
	a.next, a.window.lo, a.window.hi = a.next-gone, max(0, a.window.lo-gone), max(0, a.window.hi-gone)
	a.loaded -= cut(&a.load, a.loaded)
}
