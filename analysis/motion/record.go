// Package motion tells what a decoded drive shows of the car's motion: the runs in one gear, road speed and
// acceleration smoothed, the force at the wheels, the torque through the clutch, the slope of the road. It
// judges nothing.
package motion

import (
	"math"
	"slices"
	"sort"
	"sync"

	"flywitness/analysis/gearstate"
	"flywitness/internal/parts"
)

// Record is one decoded log with the motion of the car, all on the track's clock.
type Record struct {
	Input        int // which log
	Track        *gearstate.Track
	Period       float64 // s between samples of the slower channel
	Runs         []Run
	Slips        []Span // rising stretches in which engine speed was not road speed
	ClutchSwitch *ClutchSwitch
	Fit          float64 // of the smoother: its errors over those that it expects

	parts []part // samples from i*partSamples on each

	heightT, height []float64 // s and m, as a receiver tells them; nil where none does
	slope, slopeSD  []float64 // of the road at each sample; nil when nothing is known of it
}

// Run is a stretch of samples [Lo, Hi) in one gear, clutch engaged, locked or slipping.
type Run struct {
	Lo, Hi   int
	Gear     int
	Index    int  // in the ladder
	FromOpen bool // the clutch was open or unknown before
	IntoOpen bool // it opens, or another gear follows, at the end
}

// sums are those of what a record can tell the means of: excess of engine speed (km/h), 0 without a gear; speed of the
// road as displayed (km/h); acceleration (km/h/s); wheel force over weight times road speed (km/h), which makes creep.
type sums struct{ excess, speed, accel, creep float64 }

// sumEvery is how many samples lie from one sum that is kept to the next: those of every sample take more memory than
// all else of a day.
const sumEvery = 2

// part holds the motion of some samples, and its sums. Each part sums up for itself, so all cores sum up, and what is
// estimated again concerns its own part.
type part struct {
	state  []State
	before sums   // over the samples of the parts before,
	upTo   []sums // over those of its own before every sumEvery'th,
	all    sums   // and over all of its own
}

// Span is a stretch of time in s.
type Span struct{ Start, End float64 }

// New returns the motion of a decoded log, number input of its set. The track is not changed.
func New(input int, t *gearstate.Track) *Record { return newRecord(input, t, false) }

// Take is New of a track that nobody needs any more: what the record labels otherwise it labels there.
func Take(input int, t *gearstate.Track) *Record { return newRecord(input, t, true) }

func newRecord(input int, t *gearstate.Track, spent bool) *Record {
	r := &Record{Input: input, Period: t.Model.Period}
	r.Track = followGear(t, spent)
	var beside sync.WaitGroup
	beside.Go(r.findRuns)
	r.parts = make([]part, t.Len()/partSamples+1)
	parts.Reusing(len(r.parts), 1, func(k, _ int, memory *[]estimate) {
		if lo, hi := r.partAt(k); lo < hi {
			r.parts[k].state = make([]State, hi-lo)
			*memory = r.estimate(lo, hi, nil, *memory)
		}
		r.sumUp(k)
	})
	r.carryOver()
	beside.Wait()
	return r
}

const (
	// s beside some samples after which the smoother feels nothing of what was measured: its memory is half a second
	settleTime  = 10.0
	partSamples = 1 << 14 // that are smoothed and summed up at once: what a core's cache holds
)

// partAt is which samples [lo, hi) are those of a part.
func (r *Record) partAt(k int) (lo, hi int) {
	return k * partSamples, min(r.Track.Len(), (k+1)*partSamples)
}

// estimate estimates the motion of samples [lo, hi) but for some stretches of time. It returns the memory it used.
func (r *Record) estimate(lo, hi int, without []Span, memory []estimate) []estimate {
	t := r.Track.T
	from, to := sort.SearchFloat64s(t, t[lo]-settleTime), sort.SearchFloat64s(t, t[hi-1]+settleTime)
	memory = smooth(t[from:to], r.measurements(from, to, without), memory)
	for i := lo; i < hi; i++ {
		*r.State(i) = memory[i-from].state()
	}
	return memory
}

// State is the car's motion at sample i, smoothed.
func (r *Record) State(i int) *State { return &r.parts[i/partSamples].state[i%partSamples] }

// findRuns cuts the track at every change of gear, open clutch and gap.
func (r *Record) findRuns() {
	t := r.Track
	in := func(i int) bool {
		return t.Gear[i] != 0 && t.Clutch[i] != gearstate.Open && t.Clutch[i] != gearstate.Unknown
	}
	gap := t.Model.Gap()
	for i := 0; i < t.Len(); {
		if !in(i) {
			i++
			continue
		}
		j := i + 1
		for j < t.Len() && in(j) && t.Gear[j] == t.Gear[i] && t.T[j]-t.T[j-1] <= gap {
			j++
		}
		r.Runs = append(r.Runs, Run{Lo: i, Hi: j, Gear: int(t.Gear[i]), Index: t.Place(i),
			FromOpen: i == 0 || t.Gear[i-1] != t.Gear[i] || t.Clutch[i-1] == gearstate.Open,
			IntoOpen: j < t.Len() && (t.Gear[j] != t.Gear[i] || t.Clutch[j] == gearstate.Open)})
		i = j
	}
}

// Without estimates the motion again about stretches of time, rising, in which engine speed was not road speed.
func (r *Record) Without(without []Span) {
	t := r.Track.T
	var memory []estimate
	var changed []int // parts
	for w := 0; w < len(without); {
		from, to := without[w].Start, without[w].End
		some := without[w : w+1]
		for w++; w < len(without) && without[w].Start < to+2*settleTime; w++ {
			some = some[:len(some)+1]
			to = max(to, without[w].End)
		}
		lo, hi := sort.SearchFloat64s(t, from-settleTime), sort.SearchFloat64s(t, to+settleTime)
		memory = r.estimate(lo, hi, some, memory)
		for k := lo / partSamples; k <= (hi-1)/partSamples; k++ {
			changed = append(changed, k)
		}
	}
	changed = slices.Compact(changed)
	parts.Each(len(changed), 1, func(i, _ int) { r.sumUp(changed[i]) })
	r.carryOver()
}

// lockedFor is how long (s) a clutch must have been locked, and must stay so, before engine speed counts as
// road speed: the label may be late by as much.
const lockedFor = 0.35

// measurements are what is known of road speed over samples [lo, hi). Engine speed is used where the clutch is
// locked, more than 0.35 s from any other state and outside the stretches in without.
func (r *Record) measurements(lo, hi int, without []Span) func(i int) measurement {
	t := r.Track
	engine := make([]bool, hi-lo)
	since := math.Inf(-1)
	w := 0
	for i := lo; i < hi; i++ {
		if t.Clutch[i] != gearstate.Locked || i > lo && t.Gear[i] != t.Gear[i-1] {
			since = t.T[i]
		}
		for w < len(without) && without[w].End < t.T[i] {
			w++
		}
		inside := w < len(without) && t.T[i] >= without[w].Start
		engine[i-lo] = t.Clutch[i] == gearstate.Locked && t.T[i]-since > lockedFor && !inside
	}
	next := math.Inf(1)
	for i := hi - 1; i >= lo; i-- {
		if t.Clutch[i] != gearstate.Locked || i+1 < hi && t.Gear[i] != t.Gear[i+1] {
			next = t.T[i]
		}
		if next-t.T[i] <= lockedFor {
			engine[i-lo] = false
		}
	}
	step := t.Model.Step
	speedR := 0.07*step*step + 0.08
	engineR := engineRs(&t.Model)
	return func(i int) measurement {
		m := measurement{speed: t.SpeedKmh[lo+i], speedR: speedR}
		if engine[i] {
			m.engine, m.engnR = m.speed+t.Excess[lo+i], engineR[t.Place(lo+i)]
		}
		return m
	}
}

// engineSD is the error of road speed that engine speed stands for, km/h, where it comes in fine steps.
const engineSD = 0.15

// engineRs are the variances ((km/h)^2) of the road speed that engine speed stands for in each place of the ladder:
// it lies anywhere in its step.
func engineRs(m *gearstate.Model) []float64 {
	out := make([]float64, len(m.Gears))
	for g := range out {
		step := m.EngineStep(g)
		out[g] = engineSD*engineSD + step*step/12
	}
	return out
}

// Phi is wheel force over weight at sample i, from acceleration.
func (r *Record) Phi(i int) float64 {
	return gearstate.PhiFromAcceleration(r.State(i).A, r.Track.SpeedKmh[i])
}

// sumUp makes the sums of a part.
func (r *Record) sumUp(k int) {
	lo, hi := r.partAt(k)
	p := &r.parts[k]
	if p.upTo == nil {
		p.upTo = make([]sums, (hi-lo)/sumEvery+1)
	}
	var sum sums
	for i := lo; i < hi; i++ {
		if i%sumEvery == 0 {
			p.upTo[(i-lo)/sumEvery] = sum
		}
		sum.add(r, i)
	}
	if p.all = sum; hi%sumEvery == 0 {
		p.upTo[(hi-lo)/sumEvery] = sum
	}
}

// add adds sample i of a record.
func (s *sums) add(r *Record, i int) {
	t := r.Track
	if e := t.Excess[i]; e == e { // a NaN is not itself
		s.excess += e
	}
	a, v := r.State(i).A, t.SpeedKmh[i]
	s.speed += v
	s.accel += a
	s.creep += gearstate.PhiFromAcceleration(a, v) * v
}

// carryOver tells every part the sums of those before.
func (r *Record) carryOver() {
	var sum sums
	for k := range r.parts {
		p := &r.parts[k]
		p.before = sum
		sum = sums{sum.excess + p.all.excess, sum.speed + p.all.speed, sum.accel + p.all.accel, sum.creep + p.all.creep}
	}
}

// upTo returns the sums that are kept over the samples before i, of the parts before and of its own, and from which
// sample on those up to i are still to be added.
func (r *Record) upTo(i int) (before, own *sums, from int) {
	p := &r.parts[i/partSamples]
	return &p.before, &p.upTo[i%partSamples/sumEvery], i - i%sumEvery
}

// Means are those of some samples: excess of engine speed (km/h), road speed as displayed (km/h), acceleration
// (km/h/s), and wheel force over weight times road speed (km/h).
type Means struct{ E, V, A, Creep float64 }

// Means are the means over samples [lo, hi).
func (r *Record) Means(lo, hi int) Means {
	a, from, i := r.upTo(lo)
	b, to, k := r.upTo(hi)
	x, y, n := *from, *to, float64(hi-lo)
	for ; i < lo; i++ {
		x.add(r, i)
	}
	for ; k < hi; k++ {
		y.add(r, k)
	}
	return Means{
		E:     (b.excess - a.excess + (y.excess - x.excess)) / n,
		V:     (b.speed - a.speed + (y.speed - x.speed)) / n,
		A:     (b.accel - a.accel + (y.accel - x.accel)) / n,
		Creep: (b.creep - a.creep + (y.creep - x.creep)) / n,
	}
}

// MeanE is the mean excess of engine speed (km/h) over samples [lo, hi). It is asked for alone far more often than
// all.
func (r *Record) MeanE(lo, hi int) float64 {
	a, x, i := r.upTo(lo)
	b, y, k := r.upTo(hi)
	from, to := x.excess, y.excess
	for _, e := range r.Track.Excess[i:lo] {
		if e == e {
			from += e
		}
	}
	for _, e := range r.Track.Excess[k:hi] {
		if e == e {
			to += e
		}
	}
	return (b.excess - a.excess + (to - from)) / float64(hi-lo)
}

// MeanV is the mean displayed road speed (km/h) over samples [lo, hi).
func (r *Record) MeanV(lo, hi int) float64 { return r.Means(lo, hi).V }
