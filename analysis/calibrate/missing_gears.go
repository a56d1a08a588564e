package calibrate

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/gearstate"
)

// A gear that the histogram missed shows as a ratio that stays while engine and road speed change together. A clutch
// that slips at a constant ratio shows one as well, as long as the engine is asked for torque. So a ratio is a gear
// where it stayed without load, where it lies so far from the next taller gear that no clutch holds it, or where it
// came back time and again and the ladder lacks a gear: no clutch slips by the same each time.
const (
	oneGear     = 1.04 // ratios within this factor are one gear
	missedTime  = 1.8  // s of a stretch: longer than a change of gear
	missedLeast = 3.5  // s of them in all,
	missedOnce  = 4.0  // and s in one stretch where there is no second
	// s after the engine was last asked for much, and a value, in which a clutch that slipped locks again: 100 N m slow
	// an engine of 0.2 kg m^2 by 1000 rpm in 0.2 s, and a load is told late
	locksAgain = 0.5
	lightLeast = 1.0  // s of a ratio that stayed without load, after which no clutch made it
	farSpan    = 1.15 // highest over lowest engine speed, over which a ratio far from the next gear has stayed
	timeAgain  = 3    // stretches under load, whose ratios
	sameRatio  = 1.02 // lie within this factor of each other, as far as the halves of one may differ
)

// stretch is driving at one ratio (rpm per km/h), which is that of no gear in the ladder.
type stretch struct {
	gearstate.Held
	seconds float64
	light   float64 // s of it in which no clutch slips
}

// missing looks for gears that the histogram did not show. It returns the ladder with what it found.
func (p *pool) missing(tracks []*gearstate.Track, rungs []rung) []rung {
	found := p.stretches(tracks)
	out := slices.Clone(rungs)
	for range 2 { // again, once both of its neighbours are known
		for i := 0; i < len(found); { // the tallest first: the others are held against it
			j := i
			for j < len(found) && found[j].K/found[i].K < oneGear {
				j++
			}
			same := found[i:j]
			if k := same[len(same)/2].K; apart(out, k) && isGear(same, out) {
				out = append(out, rung{k: k, seconds: total(same)})
			}
			i = j
		}
	}
	slices.SortFunc(out, func(a, b rung) int { return cmp.Compare(b.k, a.k) })
	p.number(out)
	return out
}

// stretches returns the stretches of one ratio outside the ladder, the tallest first.
func (p *pool) stretches(tracks []*gearstate.Track) (out []stretch) {
	for _, t := range tracks {
		for _, h := range t.HeldRatios() {
			if seconds := t.T[h.Hi-1] - t.T[h.Lo]; seconds >= missedTime {
				out = append(out, stretch{h, seconds, p.unasked(t, h.Lo, h.Hi)})
			}
		}
	}
	slices.SortFunc(out, func(a, b stretch) int { return cmp.Compare(a.K, b.K) })
	return out
}

// isGear tells whether stretches of one ratio, the tallest first, are a gear beside those of a ladder.
func isGear(same []stretch, rungs []rung) bool {
	if time := total(same); time < missedLeast || len(same) < 2 && time < missedOnce {
		return false
	}
	light, span := 0.0, 0.0
	for _, s := range same {
		light, span = light+s.light, math.Max(span, s.Span)
	}
	k := same[len(same)/2].K
	next := taller(rungs, k)
	far := next > 0 && gearstate.BeyondSlip(k, next)
	again := len(same) >= timeAgain && same[len(same)-1].K <= sameRatio*same[0].K
	return light >= lightLeast || far && span >= farSpan || again && gearstate.LacksOne(ratios(rungs), k)
}

// ratios are those of a ladder, the lowest gear's first.
func ratios(rungs []rung) (k []float64) {
	for _, r := range rungs {
		k = append(k, r.k)
	}
	slices.SortFunc(k, func(a, b float64) int { return cmp.Compare(b, a) })
	return k
}

// taller is the ratio of the next taller gear of a ladder, 0 without one.
func taller(rungs []rung, k float64) (next float64) {
	for _, r := range rungs {
		if r.k < k {
			next = math.Max(next, r.k)
		}
	}
	return next
}

// total is the time (s) of stretches.
func total(all []stretch) (seconds float64) {
	for _, s := range all {
		seconds += s.seconds
	}
	return seconds
}

// unasked is how long (s) of samples [lo, hi) no torque was asked for that lets a clutch slip.
func (p *pool) unasked(t *gearstate.Track, lo, hi int) (seconds float64) {
	since := locksAgain + p.period
	from := lo
	for from > 0 && t.T[lo]-t.T[from-1] <= since {
		from--
	}
	asked := math.Inf(-1)
	for i := from; i < hi; i++ {
		switch {
		case p.asks(t, i):
			asked = t.T[i]
		case i > lo && t.T[i]-asked > since:
			seconds += t.T[i] - t.T[i-1]
		}
	}
	return seconds
}

// asks tells whether so much torque is asked for at sample i that a clutch may slip at a constant ratio.
func (p *pool) asks(t *gearstate.Track, i int) bool {
	if load := t.Load[i]; !math.IsNaN(load) {
		return load > moderate
	}
	return torque(t.Accel[i], t.SpeedKmh[i], t.RPM[i]) > moderate*p.top
}

// apart tells whether a ratio is a gear of its own.
func apart(rungs []rung, k float64) bool {
	for _, r := range rungs {
		if math.Abs(math.Log(r.k/k)) < minSpacing {
			return false
		}
	}
	return true
}
