package stats

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The least of eight values that err by as much as they differ is read 0.6 of an error too low in the mean. Their least
// truth is told to a quarter of one, and nineteen of twenty intervals cover it. Where the truth is one and the same, half
// of what is read too low is left, and the interval says so.
func TestLeastOfWhatErrs(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 3))
	for _, c := range []struct{ spread, off float64 }{{0, 0.8}, {1, 0.3}, {2, 0.3}} {
		const times, n = 250, 8
		raw, off, inside := 0.0, 0.0, 0
		for range times {
			truth, value, sd := make([]float64, n), make([]float64, n), make([]float64, n)
			for i := range n {
				sd[i] = 1
				truth[i] = 100 + c.spread*rng.NormFloat64()
				value[i] = truth[i] + rng.NormFloat64()
			}
			least, leastSD := LeastOf(value, sd, 1.4)
			raw, off = raw+(slices.Min(value)-slices.Min(truth))/times, off+(least-slices.Min(truth))/times
			if math.Abs(least-slices.Min(truth)) < Normal975*leastSD {
				inside++
			}
		}
		if math.Abs(off) > c.off || math.Abs(off) > 0.8*math.Abs(raw) || float64(inside) < 0.9*times || inside == times {
			t.Errorf("spread %g: the least is read %.2f off, told %.2f off, %.3f inside", c.spread, raw, off,
				float64(inside)/times)
		}
	}
}

// What hardly errs is told as it is read, and one value is what it is. Values of one truth tell it together: the root of
// the sum of 1/20^2 four times is 10, and what they may differ by lies on top.
func TestLeastOfFew(t *testing.T) {
	for _, c := range []struct {
		value, sd    []float64
		usual        float64
		least, by    float64
		atLeast, sds float64
	}{
		{[]float64{7}, []float64{3}, 1, 7, 0, 3, 3},
		{[]float64{300, 200, 260}, []float64{4, 4, 4}, 30, 200, 1, 3.8, 4.2},
		{[]float64{210, 190, 205, 195}, []float64{20, 20, 20, 20}, 1, 199, 1, 9.5, 10.5},
		{[]float64{210, 190, 205, 195}, []float64{20, 20, 20, 20}, 20, 190, 3, 12, 14},
	} {
		least, sd := LeastOf(c.value, c.sd, c.usual)
		if math.Abs(least-c.least) > c.by || sd < c.atLeast || sd > c.sds {
			t.Errorf("%v ± %v, usual spread %g: %.2f ± %.2f", c.value, c.sd, c.usual, least, sd)
		}
	}
}
