package inertia

import "testing"

// The speed of an engine that is told in steps of 60 rpm, and stands for most of the time, flickers by one step where it
// lies between two. That is no turn. Two steps the same way are one.
func TestRippleOfCoarseSteps(t *testing.T) {
	const step = 60.0
	n := make([]float64, 100)
	for i := range n {
		n[i] = 2400
		if i%10 == 3 {
			n[i] += step
		}
	}
	if got := ripple(n); got <= step || got >= 2*step {
		t.Errorf("a turn begins at %.0f rpm where values flicker by %.0f", got, step)
	}
}
