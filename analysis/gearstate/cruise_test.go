package gearstate

import (
	"math"
	"testing"
)

// An accelerator at rest tells nothing while the car keeps its speed or gains some; of a car that loses speed, or that
// stands, it tells that the foot is off. A foot that rests for less than six seconds tells it too.
func TestAcceleratorUnderCruiseControl(t *testing.T) {
	for _, c := range []struct {
		what  string
		kmh   func(at float64) float64
		off   float64 // s that the foot is off, from 10 s on
		quiet bool
	}{
		{"keeps its speed", func(float64) float64 { return 90 }, 10, true},
		{"gains speed", func(at float64) float64 { return 70 + at }, 10, true},
		{"loses 2 km/h each second", func(at float64) float64 { return 120 - 2*at }, 10, false},
		{"creeps", func(float64) float64 { return 12 }, 10, false},
		{"for five seconds", func(float64) float64 { return 90 }, 5, false},
	} {
		var at, pedal, speed []float64
		for i := range 400 {
			x := 0.1 * float64(i)
			at, speed = append(at, x), append(speed, c.kmh(x))
			if x >= 10 && x < 10+c.off {
				pedal = append(pedal, 14.5)
			} else {
				pedal = append(pedal, 40)
			}
		}
		pedal[399], pedal[398], pedal[397], pedal[396] = 14, 14, 14, 14 // what it rests at
		got := untold(at, pedal, at, speed)
		if math.IsNaN(got[150]) != c.quiet && c.off > 5 || math.IsNaN(got[120]) != c.quiet || math.IsNaN(got[50]) || math.IsNaN(got[250]) {
			t.Errorf("%s: %v, %v", c.what, got[120], got[150])
		}
		if math.IsNaN(pedal[120]) {
			t.Fatal("the log's own values were changed")
		}
	}
}

// A log may end, or begin, with a value at rest.
func TestAcceleratorOfAFewValues(t *testing.T) {
	for n := range 4 {
		at, pedal := make([]float64, n), make([]float64, n)
		if got := untold(at, pedal, at, pedal); len(got) != n {
			t.Errorf("%d values become %d", n, len(got))
		}
	}
}
