package drag

import (
	"math"
	"testing"
)

// However well sittings that lie far apart go with their flow, or against it, no more is said than a normal distribution
// is good for: that a value lies within three standard deviations, or three and a half.
func TestOddsAreNoMoreThanNormalTailsTell(t *testing.T) {
	beyond := func(sd float64) float64 { return 1 / math.Erfc(sd/math.Sqrt2) }
	for _, with := range []float64{1, -1} {
		odds, _, _, ok := sat(0.2, with).odds()
		if odds = math.Exp(math.Abs(math.Log(odds))); !ok || odds < beyond(3) || odds > beyond(3.5) {
			t.Errorf("flow goes with falls by %v: odds %v, want %.0f to %.0f", with, odds, beyond(3), beyond(3.5))
		}
	}
}

// sat is two sittings a side whose falls lie this far (a logarithm) to either side of their mean, where the flow of each
// tells this share of what its falls do.
func sat(apart, share float64) *correction {
	p := priorFor(AirAndFuel, Options{})
	c := &correction{f: &Finding{prior: p, change: p.weigh(0, 0, 1e-5), Trust: Trust{Verdict: Open}}}
	c.f.believed = p.believe(c.f.change)
	c.f.fallsOf = Falls{Mean: [2][]float64{{-apart, apart}, {-apart, apart}}, Variance: [2][]float64{{1e-5, 1e-5}, {1e-5, 1e-5}}}
	z := share * apart / p.c // a drag that is higher makes a fall shorter
	c.f.levelsOf = [2][]float64{{z, -z}, {z, -z}}
	return c
}

// Two sittings a side whose drag differs by 4 % speak for the correction where the flow of each tells it, and against it
// where the flow stays the same. Where it differs by 2 % they tell nothing of that.
func TestSittingsEarnTrust(t *testing.T) {
	for _, s := range []struct {
		apart, share float64
		want         Verdict
	}{{0.02, 1, Earned}, {0.02, 0, Refuted}, {0.01, 0, Open}} {
		c := sat(s.apart, s.share)
		if c.trust(nil); c.f.Trust.Verdict != s.want {
			t.Errorf("%+v: %s by odds of %v", s, c.f.Trust.Verdict, *c.f.Trust.Odds)
		}
	}
}
