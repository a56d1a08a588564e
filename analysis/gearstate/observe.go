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
	gap     float64   // longest step between rpm samples that is bridged
	half    float64   // half window of the acceleration
	window  window    // of the acceleration
	accel   []float64 // that of every speed sample, where it was worked out before
}

func newAligner(m *Model, ahead float64) *aligner {
	return &aligner{m: m, ahead: ahead, first: true, current: math.NaN(),
		gap: SignalGap(m.Period), half: max(offlineAhead, slopeValues*m.Period)}
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
	o.N, o.NDot, o.Valid = a.engine(at)
	if a.accel != nil {
		o.A = a.accel[a.next]
	} else {
		o.A = a.slope(t)
	}
	o.Load, o.Fresh = a.loadAt(at)
	a.next++
	a.trim()
	return true
}

// stale tells that engine speed has fallen silent, so that waiting for it is pointless.
func (a *aligner) stale(at float64) bool {
	return a.speed.end()-a.m.Lag > at+a.gap+1
}

// engine interpolates engine speed and its rate at a moment.
func (a *aligner) engine(at float64) (n, rate float64, ok bool) {
	t, v := a.rpm.t, a.rpm.v
	j := a.nextRPM
	if j == 0 || j >= len(t) {
		if j < len(t) && t[j] == at {
			return v[j], 0, true
		}
		return math.NaN(), 0, false
	}
	lo, hi := j-1, j
	if t[hi]-t[lo] > a.gap {
		return math.NaN(), 0, false
	}
	n = v[lo] + (v[hi]-v[lo])*(at-t[lo])/(t[hi]-t[lo])
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
	return n, (v[hi] - v[lo]) / (t[hi] - t[lo]), true
}

// window is a stretch of road speed samples [lo, hi) that slides on with time, and a line through it. Its
// origin follows, so that the sums stay small and exact.
type window struct {
	lo, hi      int
	t0, v0      float64
	line        stats.Line
	sinceOrigin int
}

// slope is the least-squares slope of road speed around the next sample over what has arrived.
func (a *aligner) slope(t float64) float64 {
	w := &a.window
	back := a.half
	if a.ahead == 0 {
		back = 1.6 * a.half // a causal window must be longer for the same noise
	}
	for w.lo < a.next && t-a.speed.t[w.lo] > back {
		if w.lo < w.hi {
			w.line.Remove(a.speed.t[w.lo]-w.t0, a.speed.v[w.lo]-w.v0)
		}
		w.lo++
	}
	w.hi = max(w.hi, w.lo)
	if w.sinceOrigin--; w.sinceOrigin < 0 {
		*w = window{lo: w.lo, hi: w.lo, t0: t, v0: a.speed.v[a.next], sinceOrigin: 200}
	}
	for w.hi < a.speed.len() && (w.hi <= a.next || a.speed.t[w.hi]-t <= a.ahead) {
		w.line.Add(a.speed.t[w.hi]-w.t0, a.speed.v[w.hi]-w.v0)
		w.hi++
	}
	if w.line.N < fewestOfLine || w.line.Spread() <= 1e-9 {
		return 0
	}
	return w.line.Slope()
}

// loadAt returns the load held at a moment and how much driving the samples since the last call stand for.
func (a *aligner) loadAt(at float64) (x, fresh float64) {
	for a.loaded < a.load.len() && a.load.t[a.loaded] <= at+atOnce {
		if a.loaded > 0 {
			fresh += min(longestFresh, a.load.t[a.loaded]-a.load.t[a.loaded-1])
		}
		a.current = a.m.Load.Fraction(a.load.v[a.loaded])
		a.loaded++
	}
	if a.loaded == 0 || at-a.load.t[a.loaded-1] > max(loadStands, loadValues*a.m.Period) {
		return math.NaN(), 0
	}
	return a.current, fresh
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
