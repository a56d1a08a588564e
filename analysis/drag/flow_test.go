package drag

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/stats"
)

// A driver's foot lets a held engine wander, quickly and slowly, and speeding up 0.2 kg m2 by 10 rad/s2 takes 2 N m more
// than the 25 that hold it. The wander and the scatter of single values do not blur the level, on a link of 8 values a
// second and on one of 1.6.
func TestLevelOfAHoldThatWanders(t *testing.T) {
	const perRate = 0.2 * math.Pi / 30 / 25 // of ln flow, per rpm/s
	for _, link := range []struct{ step, period, noise float64 }{{0.125, 4.1, 20}, {0.62, 6.3, 2}} {
		rng := rand.New(rand.NewPCG(3, 3))
		wander := func(at float64) (n, rate float64) {
			w := 2 * math.Pi / link.period
			return 2500 + 40*math.Sin(w*at) + 120*math.Sin(w*at/3), 40 * w * (math.Cos(w*at) + math.Cos(w*at/3))
		}
		g := &gauges{rpm: &series{}, air: &series{}, flow: Air, interval: link.step}
		for at := 0.0; at < 30; at += link.step {
			n, _ := wander(at)
			g.rpm.t, g.rpm.v = append(g.rpm.t, at), append(g.rpm.v, n+link.noise*rng.NormFloat64())
			n, rate := wander(at + link.step/2)
			g.air.t = append(g.air.t, at+link.step/2)
			g.air.v = append(g.air.v, 5*math.Exp(usualExponent*math.Log(n/2500)+perRate*rate))
		}
		h := &Hold{Start: 2, End: 2 + 3*link.period, RPM: 2500}
		ok := g.measure(h)
		if !ok || math.Abs(h.air.value-math.Log(5)) > 0.004 || h.air.sd > 0.005 {
			t.Errorf("every %v s: %+v, want %.4f", link.step, h.air, math.Log(5))
		}
	}
}

// A foot that presses on evenly, by 5 rpm a second, does not show what speeding up costs: twelve values of a slow link that
// scatter by 0.6 % tell the level at most half as well as their mean would.
func TestLevelUnderAnEvenFoot(t *testing.T) {
	const draws, perRate, scatter, n = 500, 0.2 * math.Pi / 30 / 25, 0.006, 12
	rng := rand.New(rand.NewPCG(4, 4))
	var off []float64
	for range draws {
		var y, rate []float64
		for range n {
			rate = append(rate, 5+0.5*rng.NormFloat64())
			y = append(y, 5*perRate+scatter*rng.NormFloat64())
		}
		level, _ := fitLevel(y, rate)
		off = append(off, level*level)
	}
	got, mean := math.Sqrt(stats.Summarise(off).Mean), math.Sqrt(25*perRate*perRate+scatter*scatter/n)
	if got > 2*mean {
		t.Errorf("off by %.4f, their mean by %.4f", got, mean)
	}
}
