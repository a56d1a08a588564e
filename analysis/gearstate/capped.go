package gearstate

import (
	"slices"
	"sort"
)

// Some dials, receivers and buses end at a speed: 80, 100 or 127 km/h, or what a byte holds. Beyond, road speed stands
// while the engine goes on as before. A clutch that gives way does not look like that: the engine then gains speed
// faster than it did, and the car, which is pushed still, does not stop gaining it from one value to the next.
const (
	capTime   = 2.0 // s at the highest speed of a log, the first at which the car should have gone on,
	capValues = 4   // and values
	capLook   = 1.5 // s before and after, over which car and engine are looked at
	capSteps  = 2.5 // steps of road speed by which the car would have gone on
	// of the engine's rate before, between which it goes on as before
	goesOnLeast, goesOnMost = 0.4, 1.4
	// of the car's rate before, that the engine's is at least: it was in gear
	inGearLeast = 0.5
)

// capped returns the stretches (s, from after the first value to the last) in which road speed stands at the end of
// its scale. leap is the step of road speed, km/h.
func capped(t, v, nt, n []float64, leap float64) [][2]float64 {
	if len(v) == 0 || len(n) == 0 {
		return nil
	}
	top := slices.Max(v)
	ends := func(i, j int) bool {
		return v[i] == top && t[j-1]-t[i] >= capTime && goesOn(t[:i+1], v, nt, n, leap)
	}
	if len(held(t, v, capValues, ends)) == 0 {
		return nil
	}
	return held(t, v, 1, func(i, _ int) bool { return v[i] == top })
}

// goesOn tells whether a car that had gained speed up to the last of times t stands from one value to the next, while
// its engine goes on as before.
func goesOn(t, v, nt, n []float64, leap float64) bool {
	last := len(t) - 1
	before := sort.SearchFloat64s(t, t[last]-capLook)
	engine := func(at float64) float64 { return n[min(sort.SearchFloat64s(nt, at), len(n)-1)] }
	if before == 0 || before == last {
		return false
	}
	took := t[last] - t[before]
	gained := (v[last] - v[before]) / took
	was, is, next := engine(t[before]), engine(t[last]), engine(t[last]+took)
	if gained*capTime < capSteps*leap || !(was > 0) || !(is > 0) {
		return false
	}
	rate, on := (is/was-1)/took, (next/is-1)/took
	return rate >= inGearLeast*gained/v[last] && on >= goesOnLeast*rate && on <= goesOnMost*rate
}
