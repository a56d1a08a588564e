package gearstate

import "math"

// Decoder decodes a drive sample by sample. Push the samples of each channel in the order of their time stamps
// as they come; every push returns the states that have become known, one for each road speed sample. It runs
// in constant memory.
type Decoder struct {
	m       *Model
	align   *aligner
	lat     *trellis
	started bool
	pause   float64 // s, see Model.pause
	since   float64 // s since the trellis stepped,
	fresh   float64 // and how much driving the load samples since then stand for
	path    *path   // offline: keeps the way back
}

// State is what the decoder tells of one road speed sample, from the past alone.
type State struct {
	Observation
	Gear   int // 0 when none
	Clutch Clutch
	Excess float64 // km/h of engine speed above the expected one; NaN without a gear
}

// NewDecoder returns a live decoder. The model is not changed.
func NewDecoder(m Model) *Decoder {
	m = m.Live()
	return newDecoder(&m, 0)
}

func newDecoder(m *Model, ahead float64) *Decoder {
	return &Decoder{m: m, align: newAligner(m, ahead), lat: newTrellis(m), pause: m.pause()}
}

// PushRPM takes an engine speed sample (s, rpm).
func (d *Decoder) PushRPM(t, rpm float64) []State {
	if !d.align.rpm.follows(t) || !(rpm >= 0 && rpm <= maxRPM) {
		return nil
	}
	d.align.rpm.push(t, rpm)
	return d.drain()
}

// PushSpeed takes a road speed sample (s, km/h as displayed).
func (d *Decoder) PushSpeed(t, kmh float64) []State {
	speed := &d.align.speed
	if !speed.follows(t) || !(kmh >= 0 && kmh <= maxKmh) {
		return nil
	}
	if n := speed.len(); n > 0 && d.m.Refresh > 0 && stale(t, kmh, speed.t[n-1], speed.v[n-1], d.m.Refresh) {
		return d.drain()
	}
	speed.push(t, kmh)
	return d.drain()
}

// PushLoad takes a sample of the model's load channel (s, raw value).
func (d *Decoder) PushLoad(t, raw float64) []State {
	if !d.align.load.follows(t) || math.IsNaN(d.m.Load.Fraction(raw)) {
		return nil
	}
	d.align.load.push(t, raw)
	return d.drain()
}

// follows tells whether a time can be that of the next value.
func (c *column) follows(t float64) bool { return t > c.end() && !math.IsInf(t, 0) }

// drain returns the states of the samples that have become known.
func (d *Decoder) drain() []State {
	var out []State
	var o Observation
	for d.align.poll(&o) {
		out = append(out, d.state(&o, d.advance(&o)))
	}
	return out
}

// After an interruption of so many seconds, and so many values, what was before says nothing of the gear.
const (
	forgets      = 5.0
	forgetsAfter = 6.0
)

// pause is the time (s) between two values from which the first says nothing of the gear at the second.
func (m *Model) pause() float64 { return max(forgets, forgetsAfter*m.Period) }

// advance takes one observation through the model and tells what the trellis did.
func (d *Decoder) advance(o *Observation) move {
	did, due := d.pass(o.DT, o.Fresh, o.Valid)
	if due {
		now := *o
		now.DT, now.Fresh = d.takeTime()
		d.lat.step(&now)
	}
	return did
}

// pass tells what the trellis does at an observation, of which it needs the times alone, and whether a step is due.
// Observations that follow a step by less than trellisStep have nothing of their own to say on the state; they take
// the one before.
func (d *Decoder) pass(dt, fresh float64, valid bool) (did move, due bool) {
	valid = valid && d.lat.n > 0
	restart := valid && (!d.started || dt > d.pause)
	if d.path != nil && (restart || !valid) {
		d.path.end()
	}
	if restart {
		d.lat.reset()
		d.started = true
	}
	d.since += dt
	d.fresh += fresh
	switch {
	case !valid:
		d.started = false
		return unknown, false
	case restart:
		return stayed, true
	}
	if d.since < trellisStep {
		return stayed, false
	}
	return stepped, true
}

// takeTime is how long the step that is due stands for, and its load samples.
func (d *Decoder) takeTime() (dt, fresh float64) {
	dt, fresh = d.since, d.fresh
	d.since, d.fresh = 0, 0
	return dt, fresh
}

// state is what the past tells of an observation.
func (d *Decoder) state(o *Observation, did move) State {
	s := State{Observation: *o, Excess: math.NaN()}
	if did == unknown {
		return s
	}
	b := d.lat.best()
	s.Gear, s.Clutch = d.lat.gearOf(b), d.lat.clutchOf(b)
	if i := d.m.Index(s.Gear); i >= 0 {
		s.Excess = d.m.excess(i, o.N, o.V, o.A, o.Load)
	}
	return s
}
