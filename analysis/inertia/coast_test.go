package inertia

import (
	"math"
	"sort"
	"testing"

	"flywitness/internal/numbers"
	"flywitness/vehicle"
)

// coastdown is one car of testdata/coast.json: SciPy's integration of the model of SAE J1263 / J2263, F = f0 +
// f1 v + f2 v^2 (from memory).
type coastdown struct {
	Mass float64 `json:"mass_kg"`
	F0   float64 `json:"f0_n"`
	F1   float64 `json:"f1_n_per_mps"`
	F2   float64 `json:"f2_n_per_mps2"`
	Runs []struct{ T, Kmh []float64 }
}

func (c coastdown) force(v float64) float64 { return c.F0 + c.F1*v + c.F2*v*v }

// runs is the coast-downs as a display in steps shows them; a step of 0 is exact.
func (c coastdown) runs(step float64) []*Run {
	var out []*Run
	for _, r := range c.Runs {
		run := &Run{Kind: Coast, T: r.T}
		for _, v := range r.Kmh {
			if step > 0 {
				v = math.Round(v/step) * step
			}
			run.speed = append(run.speed, v)
		}
		out = append(out, run)
	}
	return out
}

// Known coefficients are recovered from coast-downs of the standard's model, and where the model has a linear
// term, which the fit spreads over the other two, the force itself is. The guess that the fit starts from is
// another car's.
func TestCoastDownRecoversTheRoadLoad(t *testing.T) {
	var cars []coastdown
	numbers.Read(t, "coast.json", &cars)
	for _, c := range cars {
		guess := guessRoad(&vehicle.Vehicle{Mass: c.Mass}, c.Mass)
		for _, step := range []float64{0, 1} {
			r := fitCoasts(c.runs(step), guess, 0, 0)
			if r.source != "coast" || r.n != len(c.Runs) {
				t.Fatalf("the fit fell back to %s", r.source)
			}
			tolerance := 0.001
			if c.F1 > 0 {
				tolerance = 0.02 // of a model without a linear term
			}
			if step > 0 {
				tolerance += 0.01
			}
			for v := 40.0; v <= 100; v += 10 {
				if got, want := r.at(v)/3.6*c.Mass, c.force(v/3.6); math.Abs(got/want-1) > tolerance {
					t.Errorf("f1 %.1f, steps of %.0f km/h: %.1f N at %.0f km/h, true %.1f", c.F1, step, got, v, want)
				}
			}
			if c.F1 == 0 && step == 0 {
				if f0, f2 := r.p0/3.6*c.Mass, r.p2*3.6*c.Mass; math.Abs(f0/c.F0-1) > 0.002 || math.Abs(f2/c.F2-1) > 0.002 {
					t.Errorf("f0 %.2f N, f2 %.4f N/(m/s)^2, true %.2f and %.4f", f0, f2, c.F0, c.F2)
				}
			}
		}
	}
}

// The closed solution of the model without a linear term is SciPy's integration of it.
func TestCoastSpeedIsTheEquationOfMotion(t *testing.T) {
	var cars []coastdown
	numbers.Read(t, "coast.json", &cars)
	c := cars[0]
	p0, p2 := 3.6*c.F0/c.Mass, c.F2/c.Mass/3.6
	for _, r := range c.Runs {
		for i, at := range r.T {
			if got := coastSpeed(p0, p2, r.Kmh[0], at); math.Abs(got-r.Kmh[i]) > 1e-8*r.Kmh[0] {
				t.Fatalf("%.9f km/h after %.1f s from %.0f, SciPy %.9f", got, at, r.Kmh[0], r.Kmh[i])
			}
		}
	}
}

// The road load of a vehicle file (SAE J1263's three coefficients) is the one that the fit works with, within
// what leaving out the linear term costs; the wheels' share is that of UN GTR 15, annex 4 (from memory): 3 % of
// the mass.
func TestRoadLoadOfTheVehicleFile(t *testing.T) {
	v := &vehicle.Vehicle{Mass: 1200, RoadLoad: &vehicle.RoadLoad{F0: 140, F1: 1.2, F2: 0.42}}
	b := bodyOf(v)
	if math.Abs(b.massC/v.Mass-1.03) > 1e-12 {
		t.Errorf("mass with turning wheels %.1f kg of %.0f", b.massC, v.Mass)
	}
	r := guessRoad(v, b.massC)
	for _, kmh := range []float64{30, 50, 70, 100} {
		u := kmh / 3.6
		if got, want := r.at(kmh)/3.6*b.massC, 140+1.2*u+0.42*u*u; math.Abs(got/want-1) > 0.02 {
			t.Errorf("%.1f N at %.0f km/h, the file says %.1f", got, kmh, want)
		}
	}
}

// A coast-down ends on the foot brake, which no channel shows: 0.9 km/h a second of rolling, then 7 of braking.
// Nothing of the braking is used.
func TestCoastEndsBeforeTheBrake(t *testing.T) {
	for _, step := range []float64{0.1, 0.4} {
		var ts, vs []float64
		for x := 0.0; x < 34; x += step {
			v := 70 - 0.9*x
			if x > 30 {
				v -= 7 * (x - 30)
			}
			ts, vs = append(ts, x), append(vs, math.Round(v))
		}
		n := untilBraked(ts, vs)
		if n == 0 || ts[n-1] > 30.05 || ts[n-1] < 27 {
			t.Errorf("every %.1f s: %d samples to %.1f s are used, the brake came at 30 s", step, n, ts[max(0, n-1)])
		}
		free := sort.SearchFloat64s(ts, 30)
		if n := untilBraked(ts[:free], vs[:free]); ts[n-1] < 28.5 {
			t.Errorf("every %.1f s: of a coast-down without brake only %.1f s are used", step, ts[n-1])
		}
	}
}
