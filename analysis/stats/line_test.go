package stats

import (
	"math"
	"testing"
)

// Points on a line give its slope (hand calculation), also after others have come and gone.
func TestLine(t *testing.T) {
	var l Line
	if l.Spread() != 0 {
		t.Error("a spread of nothing")
	}
	for x := range 5 {
		l.Add(float64(x), 3-2*float64(x))
	}
	l.Add(7, 100)
	l.Remove(7, 100)
	if l.N != 5 || math.Abs(l.Slope()+2) > 1e-12 || l.Spread() != 5*30-10*10 {
		t.Errorf("%v points, slope %v, spread %v; want 5, -2, 50", l.N, l.Slope(), l.Spread())
	}
}
