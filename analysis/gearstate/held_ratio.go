package gearstate

import (
	"math"
	"slices"
)

// A gear that the ladder lacks shows as a ratio that stays while engine and road speed change together.
const (
	heldTime    = 1.0  // s for which a ratio stays at least,
	heldValues  = 3    // and values
	heldSpan    = 1.06 // highest over lowest engine speed: two steady speeds have some ratio by chance
	heldWithin  = 0.02 // relative, by which a value may be off the ratio,
	heldStep    = 1.3  // or km/h, where steps of road speed are larger,
	heldSD      = 2.5  // or standard deviations of a locked one,
	heldDrift   = 0.02 // and relative, by which its halves may differ: a tyre creeps, a wheel runs through a bend
	heldFrom    = 10.0 // km/h; below, steps of road speed drown the ratio
	rollingIdle = 1.3  // times idle, below which the engine rolls along at idle in whatever gear
)

// Held is a stretch of a track that is locked in no gear of its ladder and keeps one ratio: samples [Lo, Hi).
type Held struct {
	Lo, Hi int
	K      float64 // rpm per km/h
	Span   float64 // highest over lowest engine speed
}

// burns is the share of the engine's power from which a clutch does not slip at one ratio. One that burns so much
// carries far less than the engine gives, or is soon too hot for what it carried: the engine runs away.
const burns = 0.23

// BeyondSlip tells whether a ratio that stays is too far from the next taller gear (0: there is none) for a clutch
// that slips to hold it, so that it is another gear.
func BeyondSlip(k, next float64) bool { return 1-next/k >= burns }

// stepsApart is the factor by which the logarithms of neighbouring steps of a gearbox differ at most: 1.4 to 1.7
// between the first two, common practice, no source. A step that a gear is lacking in is two of them, and as steps
// grow shorter twice the next one at least.
const stepsApart = 2.0

// LacksOne tells whether a ladder, the lowest gear first, lacks a gear where a ratio lies between two of its own: the
// steps of a gearbox grow shorter towards its tallest gear, and change slowly. A single step tells nothing.
func LacksOne(ladder []float64, k float64) bool {
	at := slices.IndexFunc(ladder, func(x float64) bool { return x < k })
	if at < 1 {
		return false
	}
	step := func(i int) float64 { return math.Log(ladder[i] / ladder[i+1]) } // from gear i up
	wide := at > 1 && step(at-1) > step(at-2) || at+1 < len(ladder) && step(at-1) > stepsApart*step(at)
	return wide || len(ladder) == 2
}

// Ladder returns the ratios of the gears, the lowest gear's first.
func (m *Model) Ladder() (k []float64) {
	for _, g := range m.Gears {
		k = append(k, g.K)
	}
	return k
}

// At returns the place in the ladder of the gear that has a ratio which was held.
func (m *Model) At(k float64) (place int, ok bool) {
	place = slices.IndexFunc(m.Gears, func(g Gearing) bool { return math.Abs(k/g.K-1) < heldWithin })
	return place, place >= 0
}

// Taller returns the ratio of the next taller gear, 0 without one.
func (m *Model) Taller(k float64) (next float64) {
	for _, g := range m.Gears {
		if g.K < k {
			next = math.Max(next, g.K)
		}
	}
	return next
}

// HeldRatios returns the stretches of one ratio outside the ladder, in the order of the drive.
func (t *Track) HeldRatios() (out []Held) {
	n, v := 0.0, 0.0 // sums of the stretch that began at lo
	lo := 0
	for i := 0; i <= t.Len(); i++ {
		free := i < t.Len() && t.outsideLadder(i)
		if !free || i > lo && (t.T[i]-t.T[i-1] > t.Model.pause() || !t.keeps(n/v, i)) {
			if i-lo >= heldValues {
				if h, ok := t.held(lo, i, n/v); ok {
					out = append(out, h)
				}
			}
			lo, n, v = i, 0, 0
		}
		if !free {
			lo = i + 1
			continue
		}
		n, v = n+t.RPM[i], v+t.SpeedKmh[i]
	}
	return out
}

// outsideLadder tells whether sample i is driving that is locked in no gear of the ladder.
func (t *Track) outsideLadder(i int) bool {
	return t.Clutch[i] != Locked && t.SpeedKmh[i] >= heldFrom && t.RPM[i] > rollingIdle*t.Model.Idle
}

// keeps tells whether sample i has the ratio k.
func (t *Track) keeps(k float64, i int) bool {
	v := t.SpeedKmh[i]
	return math.Abs(t.RPM[i]/k-v) < math.Max(heldWithin*v, math.Max(heldStep, heldSD*t.Model.LevelSD(v, t.Accel[i])))
}

// ratio is the mean ratio of samples [lo, hi).
func (t *Track) ratio(lo, hi int) float64 {
	n, v := 0.0, 0.0
	for i := lo; i < hi; i++ {
		n, v = n+t.RPM[i], v+t.SpeedKmh[i]
	}
	return n / v
}

// held returns the stretch of samples [lo, hi), heldValues at least, of mean ratio k, if it lasts and engine speed
// changed in it.
func (t *Track) held(lo, hi int, k float64) (h Held, ok bool) {
	if t.T[hi-1]-t.T[lo] < heldTime {
		return h, false
	}
	low, high := math.Inf(1), 0.0
	for _, n := range t.RPM[lo:hi] {
		low, high = math.Min(low, n), math.Max(high, n)
	}
	h = Held{Lo: lo, Hi: hi, K: k, Span: high / low}
	mid := (lo + hi) / 2
	drift := math.Abs(t.ratio(mid, hi)/t.ratio(lo, mid) - 1)
	v := t.SpeedKmh[mid]
	step := math.Max(heldStep, 2*t.Model.LevelSD(v, t.Accel[mid])) // a car that gains speed fast is read worse
	noise := 2 * step / v / math.Sqrt(float64(hi-lo))              // of the difference of two halves
	return h, h.Span >= heldSpan && drift < math.Max(heldDrift, noise)
}
