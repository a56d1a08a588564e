package gearstate

import (
	"math"
	"slices"
	"sort"

	"flywitness/internal/order"
)

// Under cruise control the engine works with the foot off: the accelerator then tells nothing of how hard.

// All of these: common practice, no source.
const (
	pedalRests  = 2.0  // % above its usual lowest value at which an accelerator rests
	cruiseFrom  = 30.0 // km/h, below which there is no cruise control
	cruiseTime  = 6.0  // s that a foot is off while the car keeps its speed
	cruiseLoses = 0.5  // km/h/s; a car that rolls on level road with the foot off loses more, in gear or out of it
)

// untold returns an accelerator's values with those that tell nothing replaced by NaN: the foot is off, and yet the
// car keeps its speed. That may be a slope as well.
func untold(t, pedal, speedT, speed []float64) []float64 {
	if len(pedal) == 0 || len(speed) == 0 {
		return pedal
	}
	rest := order.Kth(slices.Clone(pedal), len(pedal)/100) + pedalRests
	speedAt := func(at float64) float64 {
		return speed[min(sort.SearchFloat64s(speedT, at), len(speed)-1)]
	}
	out := pedal
	for i := 0; i < len(pedal); {
		if pedal[i] > rest {
			i++
			continue
		}
		first := i
		for i < len(pedal) && pedal[i] <= rest {
			i++
		}
		marked := first
		for start, end := first, first; end < i; end++ {
			for start < end && t[end]-t[start+1] >= cruiseTime {
				start++
			}
			from, to := speedAt(t[start]), speedAt(t[end])
			took := t[end] - t[start]
			if took < cruiseTime || math.Min(from, to) < cruiseFrom || from-to > cruiseLoses*took {
				continue
			}
			if &out[0] == &pedal[0] {
				out = slices.Clone(pedal)
			}
			for marked = max(marked, start); marked <= end; marked++ {
				out[marked] = math.NaN()
			}
		}
	}
	return out
}
