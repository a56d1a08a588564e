package gearstate

import (
	"math"
	"testing"
)

// An accelerator at rest tells nothing while the car keeps its speed or gains some; of a car that loses speed, or that
// stands, it tells that the foot is off. A foot that rests for less than six seconds tells it too. A pedal comes back to
// within three steps of 1/255. On level road with the clutch down 1.2 % of the weight and 0.4 m2 of drag area brake
// 1300 kg at 90 km/h by 1.1 km/h/s; a cruise control that a hill holds up for 10 s loses 3 km/h (common practice, no
// source).
func TestAcceleratorUnderCruiseControl(t *testing.T) {
	for _, c := range []struct {
		what  string
		kmh   func(at float64) float64
		pedal float64 // %
		off   float64 // s that it is there, from 10 s on
		quiet bool
	}{
		{"keeps its speed", func(float64) float64 { return 90 }, 15.2, 10, true},
		{"keeps its speed with a light foot", func(float64) float64 { return 90 }, 18, 10, false},
		{"gains speed", func(at float64) float64 { return 70 + at }, 14.5, 10, true},
		{"loses 2 km/h each second", func(at float64) float64 { return 120 - 2*at }, 14.5, 10, false},
		{"rolls", func(at float64) float64 { return 120 - 1.1*at }, 14.5, 10, false},
		{"is held up by a hill", func(at float64) float64 { return 100 - 0.3*at }, 14.5, 10, true},
		{"creeps", func(float64) float64 { return 12 }, 14.5, 10, false},
		{"for five seconds", func(float64) float64 { return 90 }, 14.5, 5, false},
	} {
		var at, pedal, speed []float64
		for i := range 400 {
			x := 0.1 * float64(i)
			at, speed = append(at, x), append(speed, c.kmh(x))
			if x >= 10 && x < 10+c.off {
				pedal = append(pedal, c.pedal)
			} else {
				pedal = append(pedal, 40)
			}
		}
		for i := 395; i < 400; i++ {
			pedal[i] = 14 // what it rests at
		}
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
