package order

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// shapes are slices of many lengths and kinds.
func shapes() (all [][]float64) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{1, 2, 3, 64, 65, 66, 1000, 1001, 30_000} {
		random, few, sorted, organ := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range n {
			random[i], few[i], sorted[i] = rng.NormFloat64(), float64(rng.IntN(5)), float64(i)
			organ[i] = math.Min(float64(i), float64(n-i))
		}
		back := slices.Clone(sorted)
		slices.Reverse(back)
		all = append(all, random, few, sorted, back, organ)
	}
	return all
}

// The standard library's sorting says what is right.
func TestAgainstSorting(t *testing.T) {
	for _, v := range shapes() {
		want := slices.Sorted(slices.Values(v))
		n := len(v)
		for _, k := range []int{0, n / 3, (n - 1) / 2, n / 2, n - 1} {
			got := slices.Clone(v)
			selectKth(got, k)
			if got[k] != want[k] || slices.Max(got[:k+1]) != want[k] || slices.Min(got[k:]) != want[k] {
				t.Errorf("%d of %d: %v, want %v", k, n, got[k], want[k])
			}
		}
		if got, m := Median(slices.Clone(v)), (want[(n-1)/2]+want[n/2])/2; got != m {
			t.Errorf("median of %d: %v, want %v", n, got, m)
		}
		got := slices.Clone(v)
		if Sort(got); !slices.Equal(got, want) {
			t.Errorf("%d values are not sorted", n)
		}
		if got, ok := Distinct(v); !ok || !slices.Equal(got, slices.Compact(slices.Clone(want))) {
			t.Errorf("distinct values of %d: %d", n, len(got))
		}
	}
}

func TestMedianOfNothingAndNaN(t *testing.T) {
	if m := Median(nil); m != 0 {
		t.Errorf("median of nothing is %v", m)
	}
	if m := Median([]float64{1, math.NaN(), 3}); m != 1 { // slices.Sort puts NaN first
		t.Errorf("median with a NaN is %v", m)
	}
}

func TestTooManyDistinct(t *testing.T) {
	v := make([]float64, 100_000)
	for i := range v {
		v[i] = float64(i)
	}
	if _, ok := Distinct(v); ok {
		t.Error("a hundred thousand values are called few")
	}
	if _, ok := Distinct([]float64{0, 1, 0}); !ok {
		t.Error("two values are called many")
	}
}

// Stamps that repeat themselves in a beat with the steps that are looked at still have a step.
func TestMedianStep(t *testing.T) {
	var thirds []float64
	for i := range 3 * fewSteps {
		thirds = append(thirds, 0.3*float64(i/4))
	}
	for _, c := range []struct {
		t    []float64
		want float64
	}{{[]float64{0, 1, 1, 0.5, 2.5, 5.5}, 2}, {[]float64{3, 2, 1}, math.NaN()}, {nil, math.NaN()}, {thirds, 0.3}} {
		if d := MedianStep(c.t); math.Abs(d-c.want) > 1e-9 || math.IsNaN(d) != math.IsNaN(c.want) {
			t.Errorf("median step of %d stamps %g, want %g", len(c.t), d, c.want)
		}
	}
}
