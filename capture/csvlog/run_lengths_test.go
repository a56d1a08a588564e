package csvlog

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flywitness/internal/order"
)

// Counted by length, runs have the median that they have when they are listed.
func TestMedianRunLength(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for n := range 200 {
		var lengths runLengths
		var list []float64
		for range n + 1 {
			rows := 1 + rng.IntN(1+n/3)
			lengths.add(rows)
			list = append(list, float64(rows))
		}
		if want, got := order.Median(slices.Clone(list)), lengths.median(); got != want {
			t.Fatalf("%v: %v, want %v", list, got, want)
		}
		if all := lengths.upTo(math.Inf(1)); all.n != float64(len(list)) {
			t.Fatalf("%v: %v runs", list, all.n)
		}
	}
}
