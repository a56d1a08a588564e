package stats

import (
	"math"
	"testing"
)

func TestNormalCDF(t *testing.T) {
	for z := -9.5; z < 9.5; z += 0.000_713 {
		if got, want := NormalCDF(z), 0.5*math.Erfc(-z/math.Sqrt2); !(math.Abs(got-want) < 2e-15) {
			t.Fatalf("at %v: %v, should be %v", z, got, want)
		}
	}
	if NormalCDF(math.Inf(1)) != 1 || NormalCDF(math.Inf(-1)) != 0 || !math.IsNaN(NormalCDF(math.NaN())) {
		t.Error("wrong at the ends")
	}
}

func BenchmarkNormalCDF(b *testing.B) {
	sum := 0.0
	for i := range b.N {
		sum += NormalCDF(float64(i%1000)/100 - 5)
	}
	_ = sum
}
