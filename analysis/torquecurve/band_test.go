package torquecurve

import (
	"math"
	"math/rand/v2"
	"testing"
)

func seeded() *rand.Rand { return rand.New(rand.NewPCG(7, 7)) }

// exact makes points of third gear with a torque, without an error of rate or slope; each pull is the engine once
// more.
func exact(truth func(rpm float64) float64, pulls int, rpms ...float64) []Point {
	c := handCar()
	var out []Point
	for pull := range pulls {
		for _, rpm := range rpms {
			w, k := rpm*math.Pi/30, c.Gearing[3]
			out = append(out, Point{Pull: pull, Gear: 3, RPM: rpm, Alpha: k * c.Full(3, w, truth(rpm), c.Inertia[0])})
		}
	}
	return out
}

func flat(float64) float64 { return 180 }

func every(from, to, step float64) (out []float64) {
	for rpm := from; rpm <= to; rpm += step {
		out = append(out, rpm)
	}
	return out
}

// What few points still make a curve: a short pull in fourth, from 3000 to 4000 rpm, and six points of it.
func TestAShortPullMakesACurve(t *testing.T) {
	if Fit(exact(flat, 1, every(3000, 4000, 200)...), handCar()) == nil {
		t.Error("no curve from six points over 1000 rpm")
	}
}

// The curve bends where the engine does: by the chord's rule an arc of radius of curvature 1500^2/60 rpm^2/(N m)
// stands 60/1500^2 * 500^2/8 = 0.8 N m above a chord of 500 rpm; with the smoothing the curve stays within twice
// that.
func TestTheCurveFollowsTheEngine(t *testing.T) {
	truth := func(rpm float64) float64 { return 150 + 60*math.Sin((rpm-1200)/1500) }
	curve := Fit(exact(truth, 3, every(2000, 6000, 100)...), handCar())
	got := curve.Of(handCar())
	for rpm := 2000.0; rpm <= 6000; rpm += 50 {
		if off := got.At(rpm) - truth(rpm); math.Abs(off) > 2 {
			t.Errorf("%.1f N m off at %.0f rpm", off, rpm)
		}
	}
}

// Where no pull reached, smoothness tells the torque: a line from end to end of the hole. Full-load curves stray from
// such a line by a few per cent over 1000 rpm, so the band must hold 4 % and must not be so wide that it tells
// nothing. By hand: the second difference of three knots is known to a share b, so the middle to b/2.
func TestBetweenPullsTheBandHoldsAUsualBend(t *testing.T) {
	rpms := append(every(2000, 3000, 250), every(4000, 5000, 250)...)
	curve := Fit(exact(flat, 4, rpms...), handCar())
	sd := 0.0
	for i, rpm := range curve.knots {
		if rpm > 3200 && rpm < 3800 {
			sd = math.Max(sd, math.Sqrt(curve.cov.At(i, i))/180)
		}
	}
	if 1.96*sd < 0.04 || 1.96*sd > 0.15 {
		t.Errorf("the middle of a hole is known to ± %.1f %%", 196*sd)
	}
}

// Pulls repeat within a per cent (common practice, no source), and the errors of their points are their own: by hand
// three points at a knot leave 1 %/sqrt(3) = 0.58 %.
func TestTheBandOfExactPullsIsWhatTheEngineRepeats(t *testing.T) {
	curve := Fit(exact(flat, 3, 2000, 2500, 3000, 3500, 4000), handCar())
	for i := range curve.knots {
		if sd := 100 * math.Sqrt(curve.cov.At(i, i)) / 180; sd < 0.4 || sd > 0.7 {
			t.Errorf("knot %d is known to %.2f %%, by hand 0.58", i, sd)
		}
	}
}

// A curve covers what the pulls reached, to the rounding of an engine speed, and nothing beside it.
func TestACurveCoversWhatThePullsReached(t *testing.T) {
	curve := Fit(exact(flat, 2, every(2000, 5000, 250)...), handCar())
	for rpm, want := range map[float64]bool{1950: false, 2000: true, 3500: true, 5000: true, 5050: false} {
		if curve.Covers(rpm) != want {
			t.Errorf("%.0f rpm: covered is %v", rpm, !want)
		}
	}
}
