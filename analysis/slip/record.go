package slip

import (
	"math"

	"flywitness/analysis/gearstate"
)

// record is one decoded log with what the detector needs beside it, all on the track's clock.
type record struct {
	input  int
	track  *gearstate.Track
	motion []motion
	phi    []float64 // wheel force over weight, from acceleration
	period float64
	held   float64 // wheel force over weight that the tyres were seen to hold, 0 before it is asked for

	// Prefix sums over samples: index i holds the sum of those before i.
	sumE, sumV, sumA, sumAA, sumCreep []float64

	runs []run
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
	r.smooth(nil)
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

// smooth estimates the motion of the car. Engine speed is used where the clutch is locked, more than 0.35 s from any other state and
// outside the stretches in without.
func (r *record) smooth(without []span) {
	t := r.track
	n := t.Len()
	z := make([]measurement, n)
	since := math.Inf(-1)
	w := 0
	for i := range n {
		if t.Clutch[i] != gearstate.Locked || i > 0 && t.Gear[i] != t.Gear[i-1] {
			since = t.T[i]
		}
		z[i] = measurement{t: t.T[i], speed: t.SpeedKmh[i], speedR: 0.07*t.Model.Step*t.Model.Step + 0.08}
		for w < len(without) && without[w].end < t.T[i] {
			w++
		}
		inside := w < len(without) && t.T[i] >= without[w].start
		if t.Clutch[i] == gearstate.Locked && t.T[i]-since > 0.35 && !inside {
			z[i].engine, z[i].engnR = t.SpeedKmh[i]+t.Excess[i], 0.0225
		}
	}
	next := math.Inf(1)
	for i := n - 1; i >= 0; i-- {
		if t.Clutch[i] != gearstate.Locked || i+1 < n && t.Gear[i] != t.Gear[i+1] {
			next = t.T[i]
		}
		if next-t.T[i] <= 0.35 {
			z[i].engnR = 0
		}
	}
	r.motion = smooth(z)
	r.sums()
}

// sums fills phi and the prefix sums.
func (r *record) sums() {
	t := r.track
	n := t.Len()
	r.phi = make([]float64, n)
	for _, s := range []*[]float64{&r.sumE, &r.sumV, &r.sumA, &r.sumAA, &r.sumCreep} {
		*s = make([]float64, n+1)
	}
	for i := range n {
		e, a := t.Excess[i], r.motion[i].a
		if math.IsNaN(e) {
			e = 0
		}
		r.phi[i] = share(a, t.SpeedKmh[i])
		r.sumE[i+1] = r.sumE[i] + e
		r.sumV[i+1] = r.sumV[i] + t.SpeedKmh[i]
		r.sumA[i+1] = r.sumA[i] + a
		r.sumAA[i+1] = r.sumAA[i] + a*a
		r.sumCreep[i+1] = r.sumCreep[i] + r.phi[i]*t.SpeedKmh[i]
	}
}

// span is a stretch of time in s.
type span struct{ start, end float64 }

// mean over samples [lo, hi) of a prefix sum.
func mean(sum []float64, lo, hi int) float64 { return (sum[hi] - sum[lo]) / float64(hi-lo) }
