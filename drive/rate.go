package drive

import (
	"math"
	"slices"

	"flywitness/internal/order"
)

// Rate returns the usual number of samples in a second: one over the median step between time stamps, which gaps do not move.
// It is 0 for fewer than two samples.
func (c *Channel) Rate() float64 {
	if step := order.MedianStep(c.T); step > 0 {
		return 1 / step
	}
	return 0
}

// MostAveraged is how many values a logger takes the mean of at most before it writes it. Beyond, such a mean is too late
// to drive by. Common practice, no source.
const MostAveraged = 8

// Resolution returns the step in which the values of c were recorded (0.25 for engine speed of the diagnostic standard, 1 for whole
// km/h), 0 when they never differ: the smallest difference between neighbouring distinct values that occurs at least three times (within 5 %, for
// what a conversion of units rounds), so that a single freak value does not decide. Where no difference does, it is their lower tenth.
func Resolution(c *Channel) float64 { return resolution(inOrder(c)) }

// Range returns the least and the greatest value of c, which has some, and its resolution.
func Range(c *Channel) (least, most, step float64) {
	v := inOrder(c)
	return v[0], v[len(v)-1], resolution(v)
}

// inOrder returns the values of c in order, each once where they are not too many.
func inOrder(c *Channel) []float64 {
	if v, few := order.Distinct(c.V); few {
		return v
	}
	return slices.Sorted(slices.Values(c.V))
}

// resolution is that of values in order.
func resolution(v []float64) float64 {
	var steps []float64
	for i := 1; i < len(v); i++ {
		if d := v[i] - v[i-1]; d > 1e-9*math.Max(1, math.Abs(v[i])) {
			steps = append(steps, d)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	for i := 0; i+2 < len(steps); i++ {
		if steps[i+2] <= 1.05*steps[i] {
			return steps[i]
		}
	}
	return steps[len(steps)/10]
}
