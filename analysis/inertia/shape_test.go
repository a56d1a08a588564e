package inertia

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/internal/numbers"
)

// The common fit on the same numbers by a general-purpose reference (SciPy's least_squares with all 22 unknowns
// at once and its own reweighting loop, testdata/shape.py).
func TestWholeFitAgreesWithSciPy(t *testing.T) {
	var ref struct {
		Low, High float64
		Runs      []struct{ T, RPM []float64 }
		Q, A, B   []float64
	}
	numbers.Read(t, "shape.json", &ref)
	var runs []ShapeRun
	for _, r := range ref.Runs {
		runs = append(runs, ShapeRun{T: r.T, RPM: r.RPM})
	}
	s, err := FitShape(runs, ref.Low, ref.High, 3)
	if err != nil {
		t.Fatal(err)
	}
	for k, q := range ref.Q {
		if math.Abs(s.Q[k]-q) > 1e-6 {
			t.Errorf("q%d = %.9f, SciPy %.9f", k+2, s.Q[k], q)
		}
	}
	for i, r := range s.Runs {
		if math.Abs(r.A-ref.A[i]) > 1e-6*math.Abs(ref.A[i]) || math.Abs(r.B/ref.B[i]-1) > 1e-6 {
			t.Errorf("run %d: a %.9f b %.9f, SciPy %.9f %.9f", i, r.A, r.B, ref.A[i], ref.B[i])
		}
	}
}

func TestShapeRefusesWhatCannotBeFitted(t *testing.T) {
	line := ShapeRun{T: []float64{0, 1, 2}, RPM: []float64{3000, 2000, 1000}}
	rising := ShapeRun{T: []float64{0, 1, 2, 3}, RPM: []float64{1000, 2000, 3000, 4000}}
	flat := ShapeRun{T: []float64{0, 1, 2, 3}, RPM: []float64{2000, 2000, 2000, 2000}}
	for name, runs := range map[string][]ShapeRun{"nothing": nil, "no freedom": {{T: line.T[:2], RPM: line.RPM[:2]}},
		"rising": {rising}, "flat": {flat, flat}} {
		if s, err := FitShape(runs, 1000, 3000, 2); err == nil {
			t.Errorf("%s: fitted q = %v", name, s.Q)
		}
	}
}

// The rate of a fall is the derivative of the fit: for a drag that does not depend on speed the fall is a
// straight line.
func TestRateOfAStraightFall(t *testing.T) {
	var runs []ShapeRun
	for i := range 3 {
		r := ShapeRun{}
		for n := 4000.0; n >= 1500; n -= 100 {
			r.RPM, r.T = append(r.RPM, n), append(r.T, float64(i*10)+(4000-n)/1250)
		}
		runs = append(runs, r)
	}
	s, err := FitShape(runs, 1500, 4000, 3)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []float64{1600, 2500, 3900} {
		if got := s.Rate(n, s.Runs[0].B); math.Abs(got-1250) > 1e-6 {
			t.Errorf("%v rpm: %v rpm/s, want 1250", n, got)
		}
	}
}

// A microcontroller stamps to a tenth or two of a millisecond, and that is recognised: stamps that scatter by 0.15 ms
// are not taken for worse ones.
func TestFineStampsAreBelieved(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	var runs []ShapeRun
	for i := range 6 {
		r := ShapeRun{}
		for n := 4000.0; n >= 1500; n -= 50 {
			r.RPM, r.T = append(r.RPM, n), append(r.T, float64(i*10)+(4000-n)/1250+0.00015*rng.NormFloat64())
		}
		runs = append(runs, r)
	}
	s, err := FitShape(runs, 1500, 4000, 3)
	if err != nil || s.Sigma[0] < 0.00012 || s.Sigma[0] > 0.00018 {
		t.Errorf("noise of %.5f s (%v), put in 0.00015", s.Sigma[0], err)
	}
}

// A straight fall of 1250 rpm/s with a transient of 30 ms that fades within 0.1 to 0.2 s, as throttles, manifolds and
// filters do (common practice, no source): with it fitted the rate is right to two thirds of a per cent where the
// transient has been, whichever of them it is.
func TestWhatTheReleaseLeavesBehindIsFitted(t *testing.T) {
	for _, fades := range []float64{0.1, 0.15, 0.2} {
		var runs []ShapeRun
		for i := range 6 {
			r := ShapeRun{}
			for n := 4000.0; n >= 1500; n -= 50 {
				since := 0.1 + (4000-n)/1250
				r.RPM, r.Since = append(r.RPM, n), append(r.Since, since)
				r.T = append(r.T, float64(i*10)+(4000-n)/1250-0.030*math.Exp(-since/fades))
			}
			runs = append(runs, r)
		}
		s, err := FitShape(runs, 1500, 4000, 3)
		if err != nil || s.D > -0.015 {
			t.Errorf("fades in %.2f s: no transient is fitted (%v)", fades, err)
			continue
		}
		for _, n := range []float64{1700, 2750, 3500} {
			if got := s.Rate(n, s.Runs[0].B); math.Abs(got-1250) > 8 {
				t.Errorf("fades in %.2f s: %.1f rpm/s at %.0f rpm, put in 1250", fades, got, n)
			}
		}
	}
}

// Thirty-six stamps of a quick link and as many of a slow one show by themselves that the one is ten times as exact.
func TestEachLinkHasItsOwnScatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	noise := []float64{0.003, 0.03}
	var runs []ShapeRun
	for i := range 12 {
		r := ShapeRun{Group: i % 2}
		for k := range 6 {
			r.T = append(r.T, 0.4*float64(k)+noise[r.Group]*rng.NormFloat64())
			r.RPM = append(r.RPM, 3500-400*float64(k))
		}
		runs = append(runs, r)
	}
	s, err := FitShape(runs, 1500, 3500, 1)
	if err != nil || s.Sigma[0] > 2*noise[0] || s.Sigma[1] < noise[1]/2 || s.Sigma[1] > 2*noise[1] {
		t.Errorf("%+v, %v", s, err)
	}
}
