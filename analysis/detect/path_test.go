package detect

import (
	"math/rand/v2"
	"testing"
)

// Half a track of 0.75 m at 2 m/s^2 in the mean square is 1.5 m^2/s^2: 1.5*3.6*3.6 = 19.4 (km/h)^2. Where nearly all is
// path, a smaller one times a spread is as good, so that half of it will do. What is the same at all speeds, or grows
// with them, is no path.
func TestPathOfOneWheel(t *testing.T) {
	for _, c := range []struct {
		what    string
		sd      func(v float64) float64 // km/h
		windows int
		low     float64
		high    float64
	}{
		{"one wheel", func(v float64) float64 { return 19.4 / v }, 1500, 10, 24},
		{"one wheel in a short log", func(v float64) float64 { return 19.4 / v }, 15, 0, 0},
		{"what is known", func(float64) float64 { return 0 }, 1500, 0, 0},
		{"the same at all speeds", func(float64) float64 { return 0.4 }, 1500, 0, 0},
		{"a dial", func(v float64) float64 { return 0.01 * v }, 1500, 0, 0},
	} {
		rng := rand.New(rand.NewPCG(3, 1))
		var windows []control
		for range c.windows {
			v := 25 + 100*rng.Float64()
			const known = 0.05 // km/h
			windows = append(windows, control{known*rng.NormFloat64() + c.sd(v)*rng.NormFloat64(), known * known, v})
		}
		if path := pathOf(windows, 0.1); path < c.low || path > c.high {
			t.Errorf("%s: path %.0f, want %.0f to %.0f", c.what, path, c.low, c.high)
		}
	}
}
