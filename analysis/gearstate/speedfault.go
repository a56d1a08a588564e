package gearstate

import (
	"math"
	"slices"
	"sort"
)

// A wheel sensor with a gap in its ring, a loose plug, a gateway that is late: road speed stands still for a
// second, or falls away and comes back, while the car and its engine go on. Against a speed that is too low
// every clutch slips. What tells is that no car moves like that.

const (
	faultTime  = 6.0  // s that such a fault lasts at most
	frozenLeap = 8.0  // km/h/s that a car which stood still on the display for three values does not reach by the next
	dropLeap   = 15.0 // km/h/s that no road car reaches
	dropSteps  = 2.5  // steps of road speed that a fall has at least,
	dropShare  = 0.1  // and its share of the speed before
	cameBack   = 0.9  // of the speed before: it is back where it was
	dropFrom   = 15.0 // km/h below which many cars display nothing, or leap

	silentTime   = 4.0   // s of a road speed of fine steps that is the same to its last digit, and
	silentValues = 5     // values, or more:
	silentMoved  = 1.04  // no car is as even while its engine turns faster by so much than it did,
	seldomMoved  = 1.015 // nor by as little as a slip, where speeds
	seldom       = 0.15  // are the same as the one before in such a share of the values at most
)

// Both take the step of road speed, km/h.

// frozen returns the stretches (s, from after the first value to the last) in which road speed stood still and
// then leapt up to where it should have been. A leap down is a driver who brakes, and no harm is in it.
func frozen(t, v []float64, leap float64) [][2]float64 {
	return held(t, v, stuckLeast, func(i, j int) bool {
		if j == len(v) || !(v[i] > 0) {
			return false
		}
		last, up := t[j-1]-t[i], v[j]-v[i]
		return last >= stuckTime && last <= faultTime && up > leapSteps*leap && up-leap > frozenLeap*(t[j]-t[j-1])
	})
}

// silent returns the stretches (s, from after the first value to the last) in which road speed of fine steps stood
// still to its last digit while the engine, whose speed n stands at times nt, did not: a receiver without sky, in a
// tunnel, whose last speed is written on. In whole km/h a driver who keeps his speed looks the same.
func silent(t, v, nt, n []float64, leap float64) [][2]float64 {
	if leap > finest {
		return nil
	}
	by := silentMoved
	if repeats(v) <= seldom {
		by = seldomMoved
	}
	return held(t, v, silentValues, func(i, j int) bool {
		return t[j-1]-t[i] >= silentTime && v[i] > 0 && moved(nt, n, t[i], t[j-1], by)
	})
}

// repeats is the share of the speeds of a car on the move that are the same as the one before.
func repeats(v []float64) float64 {
	same, all := 0, 0
	for i := 1; i < len(v); i++ {
		if v[i] > 0 {
			all++
			if v[i] == v[i-1] {
				same++
			}
		}
	}
	return float64(same) / float64(max(1, all))
}

// moved tells whether the highest engine speed between two times was more than so many times the lowest.
func moved(nt, n []float64, from, to, by float64) bool {
	lo, hi := sort.SearchFloat64s(nt, from), sort.SearchFloat64s(nt, to)
	return hi > lo && slices.Max(n[lo:hi]) > by*slices.Min(n[lo:hi])
}

// dropped returns the stretches (s, from after the last good value to the last bad one) in which road speed
// fell by a tenth in one step and came back to where it was, in one step, faster than a car can.
func dropped(t, v []float64, leap float64) [][2]float64 {
	steps := dropSteps * leap
	least := func(v float64) float64 { return math.Max(steps, dropShare*v) }
	var out [][2]float64
	for j, clear := 1, 0; j < len(v); j++ {
		up := v[j] - v[j-1]
		if up < steps || v[j] < dropFrom || up < least(v[j]) || up-leap <= dropLeap*(t[j]-t[j-1]) {
			continue
		}
		for i := j - 1; i > clear && t[j]-t[i] <= faultTime; i-- {
			if good := v[i-1]; good-v[i] >= least(good) && v[j] >= cameBack*good {
				out = append(out, [2]float64{t[i-1], t[j-1]})
				clear = j
				break
			}
		}
	}
	return out
}
