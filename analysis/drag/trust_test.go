package drag

import (
	"math"
	"testing"
)

// However well sittings that lie far apart go with their flow, or against it, no more is said than a normal distribution
// is good for: that a value lies within three standard deviations, or three and a half.
func TestOddsAreNoMoreThanNormalTailsTell(t *testing.T) {
	beyond := func(sd float64) float64 { return 1 / math.Erfc(sd/math.Sqrt2) }
	c := &correction{f: &Finding{prior: prior{c: 1.2, air: 0.01, engine: 0.001}}}
	c.f.believed = c.f.prior.believe(change{meters: 1e-4})
	c.f.believed.day = 0.06 * 0.06
	c.f.fallsOf = Falls{Mean: [2][]float64{{-0.2, 0.2}, {-0.2, 0.2}}, Variance: [2][]float64{{1e-5, 1e-5}, {1e-5, 1e-5}}}
	for _, with := range []float64{1, -1} {
		z := with * 0.2 / 1.2 // a drag that is higher makes a fall shorter
		c.f.levelsOf = [2][]float64{{z, -z}, {z, -z}}
		odds, _, _, ok := c.odds()
		if odds = math.Exp(math.Abs(math.Log(odds))); !ok || odds < beyond(3) || odds > beyond(3.5) {
			t.Errorf("flow goes with falls by %v: odds %v, want %.0f to %.0f", with, odds, beyond(3), beyond(3.5))
		}
	}
}
