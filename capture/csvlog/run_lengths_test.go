package csvlog

import (
	"math"
	"math/rand/v2"
	"runtime"
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
			lengths.add(rows, 1)
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

// However many cores count runs, there are as many: of columns whose values change in each row, after some, or behind holes.
func TestRunLengthsOnAllCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(7))
	rng := rand.New(rand.NewPCG(7, 8))
	for n := range 2000 {
		v := make([]float64, n%100)
		holes, stays := rng.Float64(), rng.Float64()
		for i := range v {
			switch {
			case rng.Float64() < holes || n%3 == 0 && i%2 == 0:
				v[i] = math.NaN()
			case i > 0 && rng.Float64() < stays:
				v[i] = v[i-1]
			default:
				v[i] = float64(rng.IntN(9))
			}
		}
		if got, want := lengthsOf(v, 3), lengthsIn(v, 3); !slices.Equal(got, want) {
			t.Fatalf("%v: %v, want %v", v, got, want)
		}
	}
}
