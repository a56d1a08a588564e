package gearstate

import (
	"math"
	"math/rand/v2"
	"testing"
)

// twentyHz is 400 s of engine speed at twenty values a second: the car's motion, a change of gear every 20 s, noise (rpm),
// quarters of a revolution.
func twentyHz(noise float64) (t, v []float64) {
	rng := rand.New(rand.NewPCG(3, 1))
	gear := 0.0
	for i := range 8000 {
		at := float64(i) * 0.05
		if i%400 == 0 {
			gear = 15 - gear
		}
		kmh := 70 + 35*math.Sin(at/11) + 9*math.Sin(at/2.3)
		x := (35+gear*(1-math.Exp(-float64(i%400)/10)))*kmh + noise*rng.NormFloat64()
		t, v = append(t, at), append(v, math.Round(4*x)/4)
	}
	return t, v
}

// moving is the moving average of the last m values, as a logger of two decimals writes it.
func moving(v []float64, m int) []float64 { return written(v, m, 100) }

// written is the same as a logger of so many parts of a revolution writes it.
func written(v []float64, m int, parts float64) []float64 {
	out := make([]float64, len(v))
	sum := 0.0
	for i, x := range v {
		sum += x
		if i >= m {
			sum -= v[i-m]
		}
		out[i] = math.Round(parts*sum/float64(min(i+1, m))) / parts
	}
	return out
}

func TestMovingAverageIsRecognised(t *testing.T) {
	for _, noise := range []float64{2, 5} {
		at, v := twentyHz(noise)
		for _, m := range []int{6, 12, 20, 40} {
			if w := AveragedOver(at, moving(v, m)); math.Abs(w-float64(m)*0.05) > 1e-9 {
				t.Errorf("noise of %g rpm: an average over %d values is taken for one over %g s", noise, m, w)
			}
		}
	}
}

// Twenty seconds mostly show an average over two, tenths of a revolution one over a second, and stamps that are off by a
// fiftieth of an interval do not hide it.
func TestMovingAverageOfLittle(t *testing.T) {
	at, v := twentyHz(5)
	rng := rand.New(rand.NewPCG(3, 2))
	for i := range at {
		at[i] += 0.02 * 0.05 * (2*rng.Float64() - 1)
	}
	const n = 450
	for _, c := range []struct {
		what string
		m    int
		v    []float64
	}{{"over two seconds", 40, moving(v, 40)}, {"in tenths", 20, written(v, 20, 10)}} {
		told, all := 0, 0
		for from := 0; from+n <= len(at); from += n {
			all++
			if w := AveragedOver(at[from:from+n], c.v[from:from+n]); math.Abs(w-float64(c.m)*0.05) < 0.01 {
				told++
			} else if w != 0 {
				t.Errorf("%s: an average over %d values is taken for one over %g s", c.what, c.m, w)
			}
		}
		if told < all*2/3 {
			t.Errorf("%s: told in %d of %d", c.what, told, all)
		}
	}
}

// Noise, none, the steps of a display, values that are held, a first-order filter, stamps of uneven distance: no average.
func TestNoMovingAverage(t *testing.T) {
	none := func(what string, at, v []float64) {
		t.Helper()
		if w := AveragedOver(at, v); w != 0 {
			t.Errorf("%s is taken for an average over %g s", what, w)
		}
	}
	at, v := twentyHz(4)
	none("noise", at, v)
	_, smooth := twentyHz(0)
	none("no noise", at, smooth)
	for _, step := range []float64{8, 35, 70} {
		coarse := make([]float64, len(v))
		for i, x := range smooth {
			coarse[i] = math.Floor(x/step) * step
		}
		none("a display in steps", at, coarse)
	}
	held, filtered := make([]float64, len(v)), make([]float64, len(v))
	for i, x := range v {
		held[i], filtered[i] = v[i-i%7], x
		if i > 0 {
			filtered[i] = filtered[i-1] + 0.15*(x-filtered[i-1])
		}
	}
	none("a value that is held", at, held)
	none("a first-order filter", at, filtered)
	none("a constant", at, make([]float64, len(v)))
	none("what repeats after three seconds", at, moving(v, 60))
	rng, uneven := rand.New(rand.NewPCG(3, 2)), make([]float64, len(at))
	for i, x := range at {
		uneven[i] = x + 0.15*0.05*(2*rng.Float64()-1)
	}
	none("a sum of values at uneven times", uneven, moving(v, 12))
	none("a short log", at[:100], moving(v, 12)[:100])
}
