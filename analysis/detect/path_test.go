package detect

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/gearstate"
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

// A wheel three quarters of a metre off the middle of its car, in bends of 3 m/s^2 in the mean square, is off by 29
// (km/h)^2 over its speed. What wanders by more than that is no path.
func TestPathThatNoWheelTakes(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 2))
	var windows []control
	for range 1500 {
		v := 25 + 100*rng.Float64()
		windows = append(windows, control{100 / v * rng.NormFloat64(), 0.05 * 0.05, v})
	}
	if path := pathOf(windows, 0.1); path < 29 || path > 1.5*29 {
		t.Errorf("path %.0f", path)
	}
}

// A bend lasts for seconds: windows that tell the path are short enough that one way round does not take away the other,
// on a quick link and on a slow one.
func TestBendsDoNotTakeEachOtherAway(t *testing.T) {
	for _, period := range []float64{0.05, 0.5} {
		r := at(60, period).drive(leg{s: 60, gear: 3, load: 0.2, clutch: gearstate.Locked,
			slip: func(u float64) float64 { return math.Copysign(0.01, math.Sin(2*math.Pi*(u+0.01)/4.5)) }}).record()
		r.light = r.Track.Control()
		ss, all := 0.0, r.controls(counted(r.light))
		for _, c := range all {
			ss += c.mean * c.mean / float64(len(all))
		}
		if rms := math.Sqrt(ss); rms < 0.4 || rms > 0.61 {
			t.Errorf("%.2f km/h of 0.6 in %d windows of a link of %.2f s", rms, len(all), period)
		}
	}
}

// A log whose errors are a quarter of what is known of its signals tells a path as well. Beside errors that are taken to be
// so large it is as much larger at most.
func TestPathOfAQuietLog(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	var windows []control
	for range 3000 {
		v := 25 + 100*rng.Float64()
		windows = append(windows, control{0.05*rng.NormFloat64() + 8/v*rng.NormFloat64(), 0.2 * 0.2, v})
	}
	if path := pathOf(windows, 0.1); path < 8 || path > 4*8 {
		t.Errorf("path %.0f, truly 8", path)
	}
}
