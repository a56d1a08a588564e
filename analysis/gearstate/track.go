package gearstate

import (
	"math"
	"sort"
	"sync"

	"flywitness/drive"
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
	Gear     []int     // 0 when none
	Clutch   []Clutch
	Excess   []float64 // km/h of engine speed above the expected one in Gear, creep removed; NaN without a gear
	Segments []Segment
}

// LockedRPM returns the expected engine speed for the road speed at sample i; NaN without a gear.
func (t *Track) LockedRPM(i int) float64 {
	g := t.Model.Index(t.Gear[i])
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

// DecodeSignals tells gear and clutch at every road speed sample of a log, each from the whole drive. The
// signals were read, and perhaps thinned out, before; the log gives the load alone. No gears in the model or
// one channel alone give a track without gears.
func DecodeSignals(l *drive.Log, s Signals, m Model) *Track {
	load := loadSamples(l, &m)
	at := append(append([]int{0}, standstills(s, m.Period)...), len(s.Speed))
	tr := newTrack(m, len(s.Speed))
	var all sync.WaitGroup
	for i := range len(at) - 1 {
		all.Go(func() { decodePart(tr.part(at[i], at[i+1]), s, load, at[i], at[i+1]) })
	}
	all.Wait()
	tr.segments()
	return tr
}

// newTrack returns a track of n samples.
func newTrack(m Model, n int) *Track {
	t := &Track{Model: m, Gear: make([]int, n), Clutch: make([]Clutch, n)}
	for _, c := range t.columns() {
		*c = make([]float64, n)
	}
	return t
}

// decodePart decodes road speed samples [lo, hi) into tr.
func decodePart(tr *Track, s Signals, load []sample, lo, hi int) {
	m := &tr.Model
	d := newDecoder(m, math.Max(offlineAhead, slopeValues*m.Period))
	d.path = newPath(tr, d.lat.n)
	a := d.align
	a.speed = samples(s.SpeedT[lo:hi], s.Speed[lo:hi])
	if hi > lo {
		const overlap = 10.0 // s of engine speed and load about a part: more than any lag and any value that is held
		from, to := s.SpeedT[lo]-m.Lag-overlap, s.SpeedT[hi-1]-m.Lag+overlap
		i, j := sort.SearchFloat64s(s.RPMT, from), sort.SearchFloat64s(s.RPMT, to)
		a.rpm = samples(s.RPMT[i:j], s.RPM[i:j])
		i = sort.Search(len(load), func(i int) bool { return load[i].t >= from })
		j = sort.Search(len(load), func(i int) bool { return load[i].t >= to })
		a.load = load[i:j]
	}
	a.ended = true
	d.drain()
	d.path.trace(d.lat)
}

// loadSamples are the samples of the model's load channel as fractions.
func loadSamples(l *drive.Log, m *Model) []sample {
	if m.Load.Channel == "" {
		return nil
	}
	t, v := Usable(l.Channel(m.Load.Channel), math.Inf(-1), math.Inf(1))
	s := make([]sample, 0, len(t))
	for i := range t {
		if x := m.Load.Fraction(v[i]); !math.IsNaN(x) {
			s = append(s, sample{t[i], x})
		}
	}
	return s
}

func samples(t, v []float64) []sample {
	s := make([]sample, len(t))
	for i := range t {
		s[i] = sample{t[i], v[i]}
	}
	return s
}

// path keeps the way back through the lattice.
type path struct {
	t      *Track
	states int
	from   []uint8
	last   []int16 // best final state where a stretch ends, -1 inside, -2 invalid
}

func newPath(t *Track, gears int) *path {
	p := &path{t: t, states: 2*gears + 1}
	p.from = make([]uint8, 0, t.Len()*p.states)
	p.last = make([]int16, 0, t.Len())
	return p
}

func (p *path) record(o *Observation, l *lattice, valid, restart bool) {
	t, i := p.t, len(p.last)
	t.T[i], t.SpeedKmh[i], t.RPM[i], t.RPMRate[i], t.Accel[i], t.Load[i] = o.T, o.V, o.N, o.NDot, o.A, o.Load
	p.from = append(p.from, l.from...)
	state := int16(-1)
	if !valid {
		state = -2
	}
	p.last = append(p.last, state)
	if restart {
		for j := range p.states { // the way back ends here
			p.from[len(p.from)-p.states+j] = uint8(j)
		}
	}
	if n := len(p.last); valid {
		if n > 1 && p.last[n-2] >= 0 && !restart {
			p.last[n-2] = -1
		}
		p.last[n-1] = int16(l.best())
	}
}

// trace walks back from the end of every stretch and fills gear, clutch and excess.
func (p *path) trace(l *lattice) {
	n := p.t.Len()
	t := p.t
	state := 0
	gears := l.n
	for i := n - 1; i >= 0; i-- {
		t.Excess[i] = math.NaN()
		if p.last[i] == -2 {
			continue
		}
		if p.last[i] >= 0 {
			state = int(p.last[i])
		}
		t.Gear[i], t.Clutch[i] = l.gearOf(state), l.clutchOf(state)
		if state > 0 {
			t.Excess[i] = t.Model.excess((state-1)%gears, t.RPM[i], t.SpeedKmh[i], t.Accel[i], t.Load[i])
		}
		state = int(p.from[i*p.states+state])
	}
}

// segments joins equal labels. A segment ends where the next one starts.
func (t *Track) segments() {
	t.Segments = nil
	for i := range t.T {
		if n := len(t.Segments); n > 0 {
			s := &t.Segments[n-1]
			s.End = t.T[i]
			if s.Gear == t.Gear[i] && s.Clutch == t.Clutch[i] {
				continue
			}
		}
		t.Segments = append(t.Segments, Segment{Start: t.T[i], End: t.T[i], Gear: t.Gear[i], Clutch: t.Clutch[i]})
	}
}

// Append adds a state to a track that is followed live.
func (t *Track) Append(s State) {
	t.T, t.SpeedKmh, t.RPM = append(t.T, s.T), append(t.SpeedKmh, s.V), append(t.RPM, s.N)
	t.RPMRate, t.Accel, t.Load = append(t.RPMRate, s.NDot), append(t.Accel, s.A), append(t.Load, s.Load)
	t.Gear, t.Clutch, t.Excess = append(t.Gear, s.Gear), append(t.Clutch, s.Clutch), append(t.Excess, s.Excess)
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
