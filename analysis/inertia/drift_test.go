package inertia

import "testing"

// Five free revs that rise by a percent each show the drift of an engine that warms up; three cannot, whatever they show.
func TestFiveRunsShowADrift(t *testing.T) {
	drag := []float64{0, 0.010, 0.021, 0.029, 0.040}
	if d, ok := lineTest(drag); !ok || !d.Confirmed || d.Total < 3.5 || d.Total > 4.5 {
		t.Errorf("five: %+v, %v", d, ok)
	}
	if d, ok := lineTest(drag[:3]); ok {
		t.Errorf("three: %+v", d)
	}
}
