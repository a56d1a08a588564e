package gearstate

import (
	"math"
	"testing"
)

// Without a load, force is told from acceleration. A car that slows by more than its engine drags it is braked, and
// brakes push no tyre: 0.0007 times 46 rpm per km/h is 0.0322 of the weight.
func TestForceOfACarThatIsBraked(t *testing.T) {
	var f ForceMap
	for _, c := range []struct{ told, want float64 }{{0.2, 0.2}, {-0.02, -0.02}, {-0.4, -0.0322}} {
		if got := f.Phi(math.NaN(), 46, c.told); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%.2f of weight by acceleration: %.4f, want %.4f", c.told, got, c.want)
		}
	}
}
