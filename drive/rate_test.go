package drive

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestResolution(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 8))
	for _, step := range []float64{0.25, 1, 10, 32, 100.0 / 255, 1.609344} {
		c := &Channel{}
		for range 1000 {
			c.V = append(c.V, step*math.Round((1500+700*rng.NormFloat64())/step))
		}
		c.V = append(c.V, 1500.01*step) // a freak
		if got := Resolution(c); math.Abs(got-step) > 0.001*step {
			t.Errorf("values in steps of %g: resolution %g", step, got)
		}
	}
	if got := Resolution(&Channel{V: []float64{5, 5, 5}}); got != 0 {
		t.Errorf("a value that never differs: resolution %g", got)
	}
	if got := Resolution(&Channel{}); got != 0 {
		t.Errorf("no value: resolution %g", got)
	}
}

func TestRate(t *testing.T) {
	c := &Channel{T: []float64{0, 0.1, 0.2, 0.3, 60, 60.1, 60.2}}
	if got := c.Rate(); math.Abs(got-10) > 1e-9 {
		t.Errorf("ten samples a second with a gap: %g Hz", got)
	}
	if (&Channel{T: []float64{1}}).Rate() != 0 || (&Channel{}).Rate() != 0 {
		t.Error("fewer than two samples have a rate")
	}
}

// The range of a channel is that of its values, whether they are few or many.
func TestRange(t *testing.T) {
	many := &Channel{}
	for i := range 200_000 {
		many.V = append(many.V, float64(i*7919%200_000)/3)
	}
	for _, c := range []*Channel{{V: []float64{850.25, 12.5, 900, 13, 13.5}}, {V: []float64{-3.1, 7, -3.1}}, {V: []float64{4}}, many} {
		least, most, step := Range(c)
		if least != slices.Min(c.V) || most != slices.Max(c.V) || step != Resolution(c) {
			t.Errorf("%d values from %g to %g in steps of %g", len(c.V), least, most, step)
		}
	}
}
