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
			if Kth(slices.Clone(v), k) != want[k] || got[k] != want[k] || slices.Max(got[:k+1]) != want[k] || slices.Min(got[k:]) != want[k] {
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

// Of many values a sample is looked at first. It may be fooled, by values that repeat at its own pace or lie in few places.
func TestMedianOfMany(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{manyValues - 1, manyValues, manyValues + 1, 3*manyValues + 7} {
		for name, value := range map[string]func(i int) float64{
			"random":      func(int) float64 { return rng.NormFloat64() },
			"few":         func(int) float64 { return float64(rng.IntN(3)) },
			"equal":       func(int) float64 { return 0.05 },
			"rising":      func(i int) float64 { return float64(i) },
			"at its pace": func(i int) float64 { return float64(i % (n / sampled)) },
			"infinite":    func(i int) float64 { return math.Inf(i%2*2 - 1) },
			"two heaps":   func(i int) float64 { return float64(i%2) + 1e-9*rng.Float64() },
		} {
			v := make([]float64, n)
			for i := range v {
				v[i] = value(i)
			}
			sorted := slices.Sorted(slices.Values(v))
			want := (sorted[(n-1)/2] + sorted[n/2]) / 2
			if got := Median(v); got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
				t.Errorf("%s, %d values: %v, want %v", name, n, got, want)
			}
		}
	}
}

func TestGrowKeepsValues(t *testing.T) {
	v := Grow([]float64{1, 2}, 5)
	if !slices.Equal(v, []float64{1, 2}) || cap(v) < 7 {
		t.Errorf("%v with room for %d", v, cap(v))
	}
	if w := Grow(v, 5); &w[0] != &v[0] {
		t.Error("moved although there was room")
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

// Values are told apart whether they are whole quarters, as engine speeds, or one of them is not.
func TestDistinctQuarters(t *testing.T) {
	rpm := []float64{850.25, 0, 16383.75, 850.25, 851, 0.25, 850}
	for _, odd := range []float64{850, -0.25, 16384, 0.1, 1e300, math.Inf(1)} {
		v := append(slices.Clone(rpm), odd, odd)
		want := slices.Clone(v)
		slices.Sort(want)
		if got, ok := Distinct(v); !ok || !slices.Equal(got, slices.Compact(want)) {
			t.Errorf("with %g: %v, want %v", odd, got, want)
		}
	}
	if got, ok := Distinct([]float64{1, math.NaN(), 1}); !ok || len(got) != 2 {
		t.Errorf("with a NaN: %v", got)
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

func TestBounds(t *testing.T) {
	for _, x := range []struct {
		v           []float64
		least, most float64
	}{
		{nil, math.Inf(1), math.Inf(-1)},
		{[]float64{3}, 3, 3},
		{[]float64{2, math.NaN(), -1, 5, 0}, -1, 5},
	} {
		if least, most := Bounds(x.v); least != x.least || most != x.most {
			t.Errorf("%v lie from %v to %v", x.v, least, most)
		}
	}
}
