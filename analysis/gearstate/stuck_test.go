package gearstate

import (
	"math/rand/v2"
	"slices"
	"testing"

	"flywitness/internal/parts"
)

// Runs of equal values are those of one look at all values, wherever a long signal is cut: within a run, before it and
// at its end, and where a run fills a part.
func TestHeldStretchesAreThoseOfTheWholeSignal(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	v := make([]float64, 5*parts.Long/2)
	for i := range v {
		v[i] = float64(rng.IntN(2))
	}
	hold := func(lo, hi int) {
		for i := lo; i < hi; i++ {
			v[i] = 7
		}
	}
	hold(parts.Long-3, parts.Long+2)
	hold(2*parts.Long, 2*parts.Long+4)
	hold(len(v)-5, len(v))
	for name, v := range map[string][]float64{"many": v, "one": slices.Repeat([]float64{1}, len(v)), "ends with a part": v[:parts.Long+2],
		"one value": v[:1], "none": nil} {
		at := make([]float64, len(v))
		for i := range at {
			at[i] = float64(i)
		}
		for _, least := range []int{1, 3} {
			var want [][2]float64
			for i := 0; i < len(v); {
				j := i + 1
				for j < len(v) && v[j] == v[i] {
					j++
				}
				if j-i >= least && v[i] > 0 {
					want = append(want, [2]float64{at[i], at[j-1]})
				}
				i = j
			}
			if got := held(at, v, least, func(i, _ int) bool { return v[i] > 0 }); !slices.Equal(got, want) {
				t.Errorf("%s: %d stretches of at least %d values, want %d", name, len(got), least, len(want))
			}
		}
	}
}
