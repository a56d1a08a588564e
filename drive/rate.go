package drive

import (
	"math"
	"sort"
)

// Rate returns the usual number of samples in a second: one over the median step between time stamps, which gaps do not move.
// It is 0 for fewer than two samples.
func (c *Channel) Rate() float64 {
	if len(c.T) < 2 {
		return 0
	}
	steps := make([]float64, 0, len(c.T)-1)
	for i := 1; i < len(c.T); i++ {
		steps = append(steps, c.T[i]-c.T[i-1])
	}
	sort.Float64s(steps)
	if m := (steps[(len(steps)-1)/2] + steps[len(steps)/2]) / 2; m > 0 {
		return 1 / m
	}
	return 0
}

// Resolution returns the step in which the values of c were recorded (0.25 for engine speed of the diagnostic standard, 1 for whole
// km/h), 0 when they never differ. It is the smallest difference between distinct values that is not a freak: differences between neighbours in the sorted list of distinct
// values, of which the lower tenth is taken; rounding in the last decimal of a conversion does not count as a step.
func Resolution(c *Channel) float64 {
	v := append([]float64(nil), c.V...)
	sort.Float64s(v)
	var steps []float64
	for i := 1; i < len(v); i++ {
		if d := v[i] - v[i-1]; d > 1e-9*math.Max(1, math.Abs(v[i])) {
			steps = append(steps, d)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	sort.Float64s(steps)
	return steps[len(steps)/10]
}
