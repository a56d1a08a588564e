package gearstate

import (
	"math"
	"slices"
	"sort"

	"flywitness/internal/parts"
)

// Track is a decoded drive on the clock of its road speed samples. All slices have one length.
type Track struct {
	Model    Model
	T        []float64 // s in the log, lag removed
	SpeedKmh []float64 // displayed speed plus the model's offset
	RPM      []float64 // NaN in a gap
	RPMRate  []float64 // rpm/s
	Accel    []float64 // km/h/s, from road speed alone
	Load     []float64 // fraction, NaN when not known
	Gear     []int8    // 0 when none
	Clutch   []Clutch
	Excess   []float64 // km/h of engine speed above the expected one in Gear, creep removed; NaN without a gear
	Segments []Segment
	Apart    float64 // s from a road speed that was logged to the next engine speed, see Signals
}

// Place returns the place in the ladder of the gear at sample i; -1 without one.
func (t *Track) Place(i int) int { return t.Model.Index(int(t.Gear[i])) }

// LockedRPM returns the expected engine speed for the road speed at sample i; NaN without a gear.
func (t *Track) LockedRPM(i int) float64 {
	g := t.Place(i)
	if g < 0 {
		return math.NaN()
	}
	return t.RPM[i] - t.Excess[i]*t.Model.Gears[g].K
}

// columns are the numbers that the decoder is given or works out for every sample, Excess last, which it knows
// on the way back only.
func (t *Track) columns() []*[]float64 {
	return []*[]float64{&t.T, &t.SpeedKmh, &t.RPM, &t.RPMRate, &t.Accel, &t.Load, &t.Excess}
}

// Len returns the number of samples.
func (t *Track) Len() int { return len(t.T) }

// offlineAhead is how far the recorded future of road speed is used for acceleration (s, at least).
const offlineAhead = 0.7

// ahead is how far it is in a log of a model.
func (m *Model) ahead() float64 { return math.Max(offlineAhead, slopeValues*m.Period) }

// DecodeSignals tells gear and clutch at every road speed sample of a log, each from the whole drive. The
// signals were read, and perhaps thinned out, before. No gears in the model or one channel alone give a track
// without gears.
func DecodeSignals(s Signals, m Model) *Track {
	tr := NewTrack(len(s.Speed))
	tr.Decode(s, m)
	return tr
}

// Decode is DecodeSignals into a track of as many samples as there are road speeds.
func (t *Track) Decode(s Signals, m Model) {
	if t.Accel = s.Accel; t.Accel == nil {
		t.Accel = s.Accelerations(m.Period)
	}
	t.DecodeAgain(s, m)
}

// DecodeAgain decodes the signals of a track by another model, into the same memory.
func (t *Track) DecodeAgain(s Signals, m Model) {
	t.Model = m
	at := cuts(s, m.Period)
	parts.Reusing(len(at)-1, 1, func(i, _ int, memory *path) {
		decodePart(t.part(at[i], at[i+1]), s, at[i], at[i+1], memory)
	})
	t.Apart = s.Apart
	t.segments()
}

// NewTrack returns a track of n samples that nothing is known of, without accelerations. A day of zeros takes a while.
func NewTrack(n int) *Track {
	t := &Track{Gear: make([]int8, n), Clutch: make([]Clutch, n)}
	columns := t.columns()
	parts.Each(len(columns), 1, func(i, _ int) {
		if columns[i] != &t.Accel {
			*columns[i] = make([]float64, n)
		}
	})
	return t
}

// together is how many samples are observed before the trellis looks at them: what they fill stays in a core's cache.
const together = 1 << 10

// decodePart decodes road speed samples [lo, hi) into tr, which knows their accelerations. It uses the memory of
// another part's path.
func decodePart(tr *Track, s Signals, lo, hi int, memory *path) {
	d := partDecoder(tr, s, lo, hi, memory)
	fresh := make([]float64, min(together, hi-lo))
	for from := 0; from < hi-lo; from += together {
		to := min(hi-lo, from+together)
		d.align.fill(tr, from, to, fresh)
		for i := from; i < to; i++ {
			d.path.moves = append(d.path.moves, d.follow(i, fresh[i-from]))
		}
	}
	d.path.trace()
}

// partDecoder returns a decoder of such a part.
func partDecoder(tr *Track, s Signals, lo, hi int, memory *path) *Decoder {
	m := &tr.Model
	d := newDecoder(m, m.ahead())
	memory.begin(tr, d.lat, s.SpeedT[lo:hi])
	d.path = memory
	a := d.align
	a.speed = column{s.SpeedT[lo:hi:hi], s.Speed[lo:hi:hi]}
	if hi > lo {
		const overlap = 10.0 // s of engine speed and load about a part: more than any lag and any value that is held
		from, to := s.SpeedT[lo]-m.Lag-overlap, s.SpeedT[hi-1]-m.Lag+overlap
		a.rpm = stretch(s.RPMT, s.RPM, from, to)
		if m.Load.Known() {
			a.load = stretch(s.LoadT, s.Load, from, to)
		}
	}
	a.ended = true
	return d
}

// follow takes sample i of the track that is filled through the trellis, and tells what that did. fresh is as of an
// Observation.
func (d *Decoder) follow(i int, fresh float64) move {
	p, dt := d.path, 0.0
	if i > 0 {
		dt = p.t.T[i] - p.t.T[i-1]
	}
	did, due := d.pass(dt, fresh, !math.IsNaN(p.t.RPM[i]))
	if !due {
		return did
	}
	dt, fresh = d.takeTime()
	if did == stepped {
		return p.step(i, dt, fresh)
	}
	o := p.observation(i, dt, fresh)
	d.lat.step(&o)
	return did
}

// What the trellis did at an observation.
type move uint8

const (
	unknown move = iota // nothing is known here
	stayed              // every state follows itself
	stepped
	putOffStep // no step was made: the gear that leads follows itself, or the open clutch of a car that stands
)

// path keeps the way back through the trellis.
type path struct {
	t     *Track
	l     *trellis
	lead  leader
	moves []move
	from  []uint8 // at each step, the best predecessor of every state
	ends  []end   // of each stretch, in order
}

// end is the likeliest state at the last sample of a stretch.
type end struct{ at, state int }

// begin makes a path one for a track of road speeds at t: with room for all steps, were there no gaps.
func (p *path) begin(tr *Track, l *trellis, t []float64) {
	steps := 0
	if n := len(t); n > 0 {
		steps = min(n, int((t[n-1]-t[0])/trellisStep)+1)
	}
	const made = 4 // one in so many is, the others are put off
	p.t, p.l = tr, l
	p.moves, p.from = slices.Grow(p.moves[:0], tr.Len()), slices.Grow(p.from[:0], steps*len(l.from)/made)
	p.ends = p.ends[:0]
	p.lead.leave()
}

// observation is what was observed at sample i, over so many s of driving.
func (p *path) observation(i int, dt, fresh float64) Observation {
	t := p.t
	return Observation{T: t.T[i], DT: dt, V: t.SpeedKmh[i], N: t.RPM[i], NDot: t.RPMRate[i], A: t.Accel[i],
		Load: t.Load[i], Fresh: fresh, Valid: true}
}

// step takes sample i through the trellis, or puts that off.
func (p *path) step(i int, dt, fresh float64) move {
	o := p.observation(i, dt, fresh)
	if p.lead.putOff(p.l, i, &o) {
		return putOffStep
	}
	p.makeUp()
	p.l.step(&o)
	p.keep()
	p.lead.find(p.l, o.stands())
	return stepped
}

// keep keeps where the ways of the last step came from.
func (p *path) keep() { p.from = append(p.from, p.l.from...) }

// makeUp makes the steps that were put off and count.
func (p *path) makeUp() {
	made := p.lead.makeUp(p)
	for i := len(p.moves) - 1; made > 0; i-- {
		if p.moves[i] == putOffStep {
			p.moves[i] = stepped
			made--
		}
	}
}

// end ends a stretch with the last sample, if that was in one.
func (p *path) end() {
	if n := len(p.moves); n > 0 && p.moves[n-1] != unknown {
		p.ends = append(p.ends, end{n - 1, p.lead.best(p.l)})
	}
	p.lead.leave()
}

// trace walks back from the end of every stretch and fills gear, clutch and excess.
func (p *path) trace() {
	p.end()
	t, l := p.t, p.l
	states, step, state := len(l.from), len(p.from), 0
	for i := t.Len() - 1; i >= 0; i-- {
		t.Gear[i], t.Clutch[i], t.Excess[i] = 0, Unknown, math.NaN()
		if p.moves[i] == unknown {
			continue
		}
		if n := len(p.ends) - 1; n >= 0 && p.ends[n].at == i {
			state = p.ends[n].state
			p.ends = p.ends[:n]
		}
		t.Gear[i], t.Clutch[i] = int8(l.gearOf(state)), l.clutchOf(state)
		if state > 0 {
			t.Excess[i] = t.Model.excess((state-1)%l.n, t.RPM[i], t.SpeedKmh[i], t.Accel[i], t.Load[i])
		}
		if p.moves[i] == stepped {
			step -= states
			state = int(p.from[step+state])
		}
	}
}

// segments joins equal labels. A segment ends where the next one starts.
func (t *Track) segments() {
	t.Segments = nil
	starts := t.starts()
	for k, i := range starts {
		end := t.Len() - 1
		if k+1 < len(starts) {
			end = starts[k+1]
		}
		t.Segments = append(t.Segments, Segment{Start: t.T[i], End: t.T[end], Gear: int(t.Gear[i]), Clutch: t.Clutch[i]})
	}
}

// starts are the samples at which segments start.
func (t *Track) starts() []int {
	n := t.Len()
	each := make([][]int, (n+parts.Long-1)/parts.Long)
	parts.Each(n, parts.Long, func(lo, hi int) {
		var own []int
		for i := lo; i < hi; i++ {
			if i == 0 || t.Gear[i] != t.Gear[i-1] || t.Clutch[i] != t.Clutch[i-1] {
				own = append(own, i)
			}
		}
		each[lo/parts.Long] = own
	})
	return slices.Concat(each...)
}

// Append adds a state to a track that is followed live.
func (t *Track) Append(s State) {
	t.T, t.SpeedKmh, t.RPM = append(t.T, s.T), append(t.SpeedKmh, s.V), append(t.RPM, s.N)
	t.RPMRate, t.Accel, t.Load = append(t.RPMRate, s.NDot), append(t.Accel, s.A), append(t.Load, s.Load)
	t.Gear, t.Clutch, t.Excess = append(t.Gear, int8(s.Gear)), append(t.Clutch, s.Clutch), append(t.Excess, s.Excess)
}

// Forget drops the samples before a time.
func (t *Track) Forget(before float64) {
	n := sort.SearchFloat64s(t.T, before)
	for _, c := range t.columns() {
		*c = append((*c)[:0], (*c)[n:]...)
	}
	t.Gear = append(t.Gear[:0], t.Gear[n:]...)
	t.Clutch = append(t.Clutch[:0], t.Clutch[n:]...)
}
