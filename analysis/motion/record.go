// Package motion tells what a decoded drive shows of the car's motion: the runs in one gear, road speed and
// acceleration smoothed, the force at the wheels, the torque through the clutch, the slope of the road. It
// judges nothing.
package motion

import (
	"math"
	"sort"
	"sync"

	"flywitness/analysis/gearstate"
	"flywitness/internal/parts"
)

// Record is one decoded log with the motion of the car, all on the track's clock. Slices by sample have the
// track's length.
type Record struct {
	Input  int // which log
	Track  *gearstate.Track
	State  []State // smoothed
	Period float64 // s between samples of the slower channel
	Runs   []Run
	Slips  []Span  // rising stretches in which engine speed was not road speed
	Fit    float64 // of the smoother: its errors over those that it expects

	sum [][]sums // of block i/sumBlock, place i%sumBlock holds the sums over the samples before i

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

// sums are of excess, displayed road speed, acceleration, and wheel force over weight times road speed: whoever asks
// for the mean of one asks for another too.
type sums struct{ e, v, a, creep float64 }

// sumBlock is how many sums lie together: blocks of some hundred kB fit in where a day's columns lay before.
const sumBlock = 1 << 14

// Span is a stretch of time in s.
type Span struct{ Start, End float64 }

// New returns the motion of a decoded log, number input of its set. The track is not changed.
func New(input int, t *gearstate.Track) *Record {
	n := t.Len()
	r := &Record{Input: input, Track: followGear(t), Period: t.Model.Period, State: make([]State, n)}
	var beside, known sync.WaitGroup
	beside.Go(r.findRuns)
	known.Go(r.sumKnown)
	parts.ByCore((n+partSamples-1)/partSamples, func(first, end int) {
		var memory []estimate
		for k := first; k < end; k++ {
			memory = r.estimate(k*partSamples, min(n, (k+1)*partSamples), nil, memory)
		}
	})
	known.Wait()
	r.sumUp(0)
	beside.Wait()
	return r
}

const (
	// s beside some samples after which the smoother feels nothing of what was measured: its memory is half a second
	settleTime  = 10.0
	partSamples = 1 << 14 // that are smoothed at once: what a core's cache holds
)

// estimate estimates the motion of samples [lo, hi) but for some stretches of time. It returns the memory it used.
func (r *Record) estimate(lo, hi int, without []Span, memory []estimate) []estimate {
	t := r.Track.T
	from, to := sort.SearchFloat64s(t, t[lo]-settleTime), sort.SearchFloat64s(t, t[hi-1]+settleTime)
	memory = smooth(t[from:to], r.measurements(from, to, without), memory)
	for i := lo; i < hi; i++ {
		r.State[i] = memory[i-from].state()
	}
	return memory
}

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
	changed := len(t)
	var memory []estimate
	for w := 0; w < len(without); {
		from, to := without[w].Start, without[w].End
		part := without[w : w+1]
		for w++; w < len(without) && without[w].Start < to+2*settleTime; w++ {
			part = part[:len(part)+1]
			to = max(to, without[w].End)
		}
		lo, hi := sort.SearchFloat64s(t, from-settleTime), sort.SearchFloat64s(t, to+settleTime)
		memory = r.estimate(lo, hi, part, memory)
		changed = min(changed, lo)
	}
	r.sumUp(changed)
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
	return gearstate.PhiFromAcceleration(r.State[i].A, r.Track.SpeedKmh[i])
}

// upTo returns the sums over the samples before i.
func (r *Record) upTo(i int) *sums { return &r.sum[i/sumBlock][i%sumBlock] }

// sumKnown makes the sums, and fills those of what the track tells.
func (r *Record) sumKnown() {
	n := r.Track.Len()
	for lo := 0; lo <= n; lo += sumBlock {
		r.sum = append(r.sum, make([]sums, min(sumBlock, n+1-lo)))
	}
	e, v := 0.0, 0.0
	for i, x := range r.Track.Excess {
		if x == x { // a NaN is not itself
			e += x
		}
		v += r.Track.SpeedKmh[i]
		sum := r.upTo(i + 1)
		sum.e, sum.v = e, v
	}
}

// sumUp fills the sums of what was estimated, from a sample on.
func (r *Record) sumUp(from int) {
	a, creep := r.upTo(from).a, r.upTo(from).creep
	for i := from; i < len(r.State); i++ {
		a += r.State[i].A
		creep += r.Phi(i) * r.Track.SpeedKmh[i]
		sum := r.upTo(i + 1)
		sum.a, sum.creep = a, creep
	}
}

// MeanE is the mean excess of engine speed (km/h) over samples [lo, hi).
func (r *Record) MeanE(lo, hi int) float64 { return (r.upTo(hi).e - r.upTo(lo).e) / float64(hi-lo) }

// MeanV is the mean displayed road speed (km/h) over samples [lo, hi).
func (r *Record) MeanV(lo, hi int) float64 { return (r.upTo(hi).v - r.upTo(lo).v) / float64(hi-lo) }

// MeanA is the mean acceleration (km/h/s) over samples [lo, hi).
func (r *Record) MeanA(lo, hi int) float64 { return (r.upTo(hi).a - r.upTo(lo).a) / float64(hi-lo) }

// MeanCreep is the mean of wheel force over weight times road speed (km/h) over samples [lo, hi).
func (r *Record) MeanCreep(lo, hi int) float64 {
	return (r.upTo(hi).creep - r.upTo(lo).creep) / float64(hi-lo)
}
