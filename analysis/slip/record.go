package slip

import (
	"math"
	"sort"

	"flywitness/analysis/gearstate"
)

// record is one decoded log with what the detector needs beside it, all on the track's clock.
type record struct {
	input  int
	track  *gearstate.Track
	motion []motion
	phi    []float64 // wheel force over weight, from acceleration
	period float64
	held   hold // wheel force over weight that the tyres were seen to hold; nothing before it is asked for

	// Prefix sums over samples: index i holds the sum of those before i.
	sumE, sumV, sumA, sumCreep []float64

	runs []run

	fit            float64   // of the smoother: its errors over those that it expects
	slips          []span    // rising stretches in which engine speed was not road speed
	slope, slopeSD []float64 // of the road at each sample; nil when nothing is known of it
}

// run is a stretch of samples [lo, hi) in one gear, clutch engaged, locked or slipping.
type run struct {
	lo, hi   int
	gear     int
	index    int  // in the ladder
	fromOpen bool // the clutch was open or unknown before
	intoOpen bool // it opens, or another gear follows, at the end
}

func newRecord(input int, t *gearstate.Track) *record {
	r := &record{input: input, track: carry(t), period: t.Model.Period}
	r.findRuns()
	r.motion = smooth(r.measurements(0, t.Len(), nil))
	r.sums(0)
	return r
}

// findRuns cuts the track at every change of gear, open clutch and gap.
func (r *record) findRuns() {
	t := r.track
	in := func(i int) bool {
		return t.Gear[i] != 0 && t.Clutch[i] != gearstate.Open && t.Clutch[i] != gearstate.Unknown
	}
	gap := 3.2*r.period + 0.2
	for i := 0; i < t.Len(); {
		if !in(i) {
			i++
			continue
		}
		j := i + 1
		for j < t.Len() && in(j) && t.Gear[j] == t.Gear[i] && t.T[j]-t.T[j-1] <= gap {
			j++
		}
		r.runs = append(r.runs, run{lo: i, hi: j, gear: t.Gear[i], index: t.Model.Index(t.Gear[i]),
			fromOpen: i == 0 || t.Gear[i-1] != t.Gear[i] || t.Clutch[i-1] == gearstate.Open,
			intoOpen: j < t.Len() && (t.Gear[j] != t.Gear[i] || t.Clutch[j] == gearstate.Open)})
		i = j
	}
}

// settleTime is how far (s) from a change of its measurements the smoother feels nothing of it: its memory is half a second.
const settleTime = 10.0

// smoothWithout estimates the motion again about stretches of time, rising, in which engine speed was not road speed.
func (r *record) smoothWithout(without []span) {
	t := r.track.T
	n, changed := len(t), len(t)
	for w := 0; w < len(without); {
		from, to := without[w].start, without[w].end
		part := without[w : w+1]
		for w++; w < len(without) && without[w].start < to+2*settleTime; w++ {
			part = part[:len(part)+1]
			to = max(to, without[w].end)
		}
		at := func(x float64) int { return sort.SearchFloat64s(t, x) }
		lo, hi := at(from-2*settleTime), min(n, at(to+2*settleTime))
		first, last := at(from-settleTime), min(n, at(to+settleTime))
		fresh := smooth(r.measurements(lo, hi, part))
		copy(r.motion[first:last], fresh[first-lo:])
		changed = min(changed, first)
	}
	r.sums(changed)
}

// measurements are what is known of road speed over samples [lo, hi). Engine speed is used where the clutch is locked, more than 0.35 s from any
// other state and outside the stretches in without.
func (r *record) measurements(lo, hi int, without []span) []measurement {
	t := r.track
	z := make([]measurement, hi-lo)
	since := math.Inf(-1)
	w := 0
	step := t.Model.Step
	for i := lo; i < hi; i++ {
		if t.Clutch[i] != gearstate.Locked || i > lo && t.Gear[i] != t.Gear[i-1] {
			since = t.T[i]
		}
		m := &z[i-lo]
		*m = measurement{t: t.T[i], speed: t.SpeedKmh[i], speedR: 0.07*step*step + 0.08}
		for w < len(without) && without[w].end < t.T[i] {
			w++
		}
		inside := w < len(without) && t.T[i] >= without[w].start
		if t.Clutch[i] == gearstate.Locked && t.T[i]-since > 0.35 && !inside {
			m.engine, m.engnR = t.SpeedKmh[i]+t.Excess[i], engineSD*engineSD
		}
	}
	next := math.Inf(1)
	for i := hi - 1; i >= lo; i-- {
		if t.Clutch[i] != gearstate.Locked || i+1 < hi && t.Gear[i] != t.Gear[i+1] {
			next = t.T[i]
		}
		if next-t.T[i] <= 0.35 {
			z[i-lo].engnR = 0
		}
	}
	return z
}

// engineSD is the error of road speed that engine speed stands for, km/h.
const engineSD = 0.15

// sums fills phi and the prefix sums from a sample on.
func (r *record) sums(from int) {
	t := r.track
	n := t.Len()
	if r.phi == nil {
		r.phi = make([]float64, n)
		for _, s := range []*[]float64{&r.sumE, &r.sumV, &r.sumA, &r.sumCreep} {
			*s = make([]float64, n+1)
		}
	}
	for i := from; i < n; i++ {
		e, a := t.Excess[i], r.motion[i].a
		if math.IsNaN(e) {
			e = 0
		}
		r.phi[i] = share(a, t.SpeedKmh[i])
		r.sumE[i+1] = r.sumE[i] + e
		r.sumV[i+1] = r.sumV[i] + t.SpeedKmh[i]
		r.sumA[i+1] = r.sumA[i] + a
		r.sumCreep[i+1] = r.sumCreep[i] + r.phi[i]*t.SpeedKmh[i]
	}
}

// span is a stretch of time in s.
type span struct{ start, end float64 }

// mean over samples [lo, hi) of a prefix sum.
func mean(sum []float64, lo, hi int) float64 { return (sum[hi] - sum[lo]) / float64(hi-lo) }
