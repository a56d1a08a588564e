package part

import (
	"math"
	"strings"
	"testing"

	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// between tells of a figure that common practice bounds on both sides.
func between(t *testing.T, what string, got, low, high float64) {
	t.Helper()
	if !(got >= low && got <= high) {
		t.Errorf("%s: %.4g, want %.4g to %.4g", what, got, low, high)
	}
}

func pct(t *testing.T, budget []Share, input string) float64 {
	t.Helper()
	for _, s := range budget {
		if strings.HasPrefix(s.Input, input) {
			return s.Pct
		}
	}
	t.Fatalf("no %s in %v", input, budget)
	return 0
}

// A data sheet that leaves out lining and disc means one disc with an organic lining. Its friction lies between
// 0.25 and 0.35, new or hot, and its clamp load within a tenth of the sheet's (common practice, no source): what
// comes of both lies in the interval, and the interval says more than "some torque".
func TestDefaultsOfADataSheet(t *testing.T) {
	c := Clutch{Outer: 0.24, Inner: 0.155, Clamp: 7200, ClampSD: DefaultClampSD * 7200, Friction: DefaultFriction,
		FrictionSD: DefaultFrictionSD, Faces: DefaultFaces}
	got, err := c.Capacity()
	if err != nil {
		t.Fatal(err)
	}
	// n mu F (D + d)/4 with two faces: 0.25 x 0.95 and 0.35 x 1.05 of 2 x 7200 N x 0.395 m / 4 = 1422 N m.
	between(t, "lower end", got.Wear.CI95[0], 0.5*1422*0.25*0.95, 1422*0.25*0.95)
	between(t, "upper end", got.Wear.CI95[1], 1422*0.35*1.05, 1.5*1422*0.35*1.05)
	between(t, "share of the clamp load, %", pct(t, got.Budget, "clamp"), 2.5, 10)
}

// A tyre size leaves about one per cent of the rolling radius open at two standard deviations (wear, pressure,
// make), hence two of the mass, which goes with its square (common practice, no source).
func TestTyreInTheWorthOfAChange(t *testing.T) {
	v := &vehicle.Vehicle{Mass: 1285, RollingCircumference: 1.927,
		Gearbox: vehicle.Gearbox{Ratios: []float64{3.42, 1.95}, FinalDrive: 4.06}}
	for _, g := range EquivalentMass(v, stats.Normal(-0.068, 0)) {
		between(t, "relative error", g.EquivalentMass.SD/g.EquivalentMass.Value, 0.006, 0.014)
	}
}

// The bench made for the day: threads of 1.2 m at 140 mm, steel rule, kitchen scales and a stopwatch. A rule is
// read to a millimetre across two edges, a hung thread to a few, scales to some ten grams, a thumb to a tenth or
// two (common practice, no source).
func TestBenchMadeForTheDay(t *testing.T) {
	r := Rig{Radius: 0.14, RadiusSD: DefaultRadiusSD, Length: 1.2, LengthSD: DefaultLengthSD, MassSD: DefaultMassSD}
	T := period(r, 10, 0.098)
	est, budget, err := r.Swing(Hung{"disc", 10, Timing{[]float64{20 * T}, 20}})
	if err != nil {
		t.Fatal(err)
	}
	between(t, "radius: 2 x 1/140, %", pct(t, budget, "radius"), 0.8, 2.5)
	between(t, "length: 3/1200, %", pct(t, budget, "length"), 0.12, 0.5)
	between(t, "mass: 20/10000, %", pct(t, budget, "mass"), 0.1, 0.5)
	between(t, "one part in all", est.SD/est.Value, 0.01, 0.03)
}

// Readings that happen to be equal are no better than a stopwatch: 2 x 0.01 s / sqrt(3) / 30 s = 0.04 % of the
// inertia.
func TestEqualReadingsAreAsGoodAsTheStopwatch(t *testing.T) {
	T := period(rig, 8, 0.08)
	_, budget, err := rig.Swing(Hung{"x", 8, Timing{[]float64{20 * T, 20 * T, 20 * T}, 20}})
	if err != nil {
		t.Fatal(err)
	}
	between(t, "times, %", pct(t, budget, "times"), 0.5*100*2*0.01/math.Sqrt(3)/(20*T), 2*100*2*0.01/math.Sqrt(3)/(20*T))
}

// A clutch disc (1.2 kg, radius of gyration 80 mm) on threads of 200 mm swings twice a second, which can be
// counted: T = 2 pi sqrt(0.08^2 x 0.2 / (9.81 x 0.14^2)) = 0.51 s. The time of one swing that is given for that of
// twenty cannot be: 0.026 s each.
func TestAFastSwingIsCounted(t *testing.T) {
	r := rig
	r.Length = 0.2
	T := period(r, 1.2, 1.2*0.08*0.08)
	if _, _, err := r.Swing(Hung{"disc", 1.2, Timing{[]float64{20 * T}, 20}}); err != nil {
		t.Error(err)
	}
	if _, _, err := r.Swing(Hung{"disc", 1.2, Timing{[]float64{T}, 20}}); err == nil {
		t.Error("the time of one swing passed for that of twenty")
	}
}

// What cancels leaves no trace in the budget: two clutches with one lining and one clamp load hold in the ratio of
// their radii, without error.
func TestWhatCancelsIsNoShare(t *testing.T) {
	c := Clutch{Outer: 0.228, Inner: 0.15, Clamp: 7200, ClampSD: 360, Friction: 0.3, FrictionSD: 0.04, Faces: 2}
	d := c
	d.Outer = 0.24
	est, err := c.Ratio(d)
	if err != nil {
		t.Fatal(err)
	}
	if est.SD != 0 {
		t.Errorf("error %g of a ratio in which nothing is unknown", est.SD)
	}
}
