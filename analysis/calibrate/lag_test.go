package calibrate

import (
	"math"
	"testing"
)

// A satellite receiver is late by up to a second and a half, a filter of engine speed by six tenths, and a row of values
// that were asked for in turn by its cycle, one way or the other. Further off nothing is looked for: short drives look
// alike at more than one delay. On the slowest links neither the cycle nor a late engine speed is looked for.
func TestDelaysThatAreLookedFor(t *testing.T) {
	for _, c := range []struct{ period, cycle, engine float64 }{{0.05, 0.05, 0.6}, {0.6, 0.6, 0.6}, {1.2, 0, 0}} {
		low, high := (&pool{period: c.period}).lags()
		if late := high - c.cycle; late < 1.5 || late > 2.5 {
			t.Errorf("a value every %.2f s: road speed is late by %.2f s at most", c.period, high)
		}
		if late := -low - c.cycle; late < c.engine || late > c.engine+0.5 {
			t.Errorf("a value every %.2f s: engine speed is late by %.2f s at most", c.period, -low)
		}
	}
}

// The first look finds a delay to a tenth of a second.
func TestFirstLookForADelay(t *testing.T) {
	for _, late := range []float64{0.25, 0.55} {
		p := steadyPool(37.7, 2500, 0.3)
		s := p.logs[0]
		for i := range s.SpeedT {
			s.SpeedT[i] += late
		}
		s.place = s.places()
		if got := p.sharpestLag(); math.Abs(got-late) > 0.1 {
			t.Errorf("late by %.2f s, found %.2f", late, got)
		}
	}
}
