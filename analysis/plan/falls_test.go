package plan

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
)

// fallOf returns time (s) and speed (rpm) samples of one free rev from 4800 to 1500 rpm: an engine of inertia
// kg m^2 with a drag of 22 + 0.02 w + 6e-5 w^2 N m times drag, over a link. The speed at each instant comes
// from stepping the equation of motion, the time stamps scatter by the link's own noise.
func fallOf(inertiaKgm2, drag float64, l Link, rng *rand.Rand) inertia.ShapeRun {
	const step = 0.01
	w, t := 4800*math.Pi/30, 0.0
	next := rng.Float64() / l.RateHz
	var r inertia.ShapeRun
	for w > 1500*math.Pi/30 {
		if t >= next {
			r.T = append(r.T, t+l.TimingSD*rng.NormFloat64())
			r.RPM = append(r.RPM, w*30/math.Pi)
			next += (1 + 0.12*rng.NormFloat64()) / l.RateHz
		}
		w -= step * drag * (22 + 0.02*w + 6e-5*w*w) / inertiaKgm2
		t += step
	}
	return r
}

// finds drives n falls a side with a change of inertia and tells whether the shared shape and Welch's pooled t
// test find it.
func finds(change, tau float64, n int, l Link, rng *rand.Rand) bool {
	var runs []inertia.ShapeRun
	for i := range 2 * n {
		of := 0.2
		if i < n {
			of *= 1 + change
		}
		runs = append(runs, fallOf(of, math.Exp(tau*rng.NormFloat64()), l, rng))
	}
	shape, err := inertia.FitShape(runs, 1500, 4800, 2)
	if err != nil {
		return false
	}
	var side [2][]float64
	for i, r := range shape.Runs {
		side[i/n] = append(side[i/n], math.Log(r.B))
	}
	test, ok := stats.Pooled(stats.Summarise(side[0]), stats.Summarise(side[1]))
	return ok && test.P < 0.05
}

// The planned power is what falls of an engine have when they are fitted with the shared shape: within 5
// points, of which chance takes up to 2 at one standard deviation with 400 pairs. The fall takes 1.9 s, the
// window 1500 to 4800 rpm.
func TestFallsHaveThePlannedPower(t *testing.T) {
	const pairs, tau = 400, 0.015
	for _, c := range []struct {
		link   int
		change float64
	}{{0, 0.10}, {1, 0.05}, {2, 0.05}} {
		l := usualLinks[c.link]
		rng := rand.New(rand.NewPCG(11, uint64(c.link)))
		fall := 0.0
		for range 200 {
			r := fallOf(0.2, 1, l, rng)
			fall += (r.T[len(r.T)-1] - r.T[0]) * float64(len(r.T)) / float64(len(r.T)-1) / 200
		}
		s := Scatter{l.timingScatter(fall), tau}
		n, ok := runsNeeded(c.change, s)
		if !ok {
			t.Fatalf("%s %g: not reachable", l.Name, c.change)
		}
		planned := stats.PowerT(math.Log1p(c.change)/(s.total()*math.Sqrt(2/float64(n))), float64(2*n-2))
		found := 0
		for range pairs {
			if finds(c.change, tau, n, l, rng) {
				found++
			}
		}
		seen := float64(found) / pairs
		row := fmt.Sprintf("%s, %.0f %%, %d runs: planned %.3f, seen %.3f", l.Name, 100*c.change, n, planned, seen)
		t.Log(row)
		if math.Abs(seen-planned) > 0.05 {
			t.Error(row)
		}
	}
}
