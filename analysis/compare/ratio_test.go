package compare

import (
	"math"
	"slices"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/analysis/inertia/testcar"
	"flywitness/drive"
	"flywitness/finding"
)

// What drags above a speed that one side hardly reached, such as a blower with a clutch of its own, is not bridged by the
// shape of the other falls: the window that both sides reached is used, which lies nearer to the truth, and it is said.
// Where nothing of the kind drags, the longer falls are used whole.
func TestFallsFromHigherAreCutWhereTheirShapeDiffers(t *testing.T) {
	const from = 3500 * testcar.RPM
	for _, blower := range []float64{0, 0.6} {
		side := func(kgm2, top float64, seed uint64) Side {
			car := stand(kgm2)
			plain := car.Drag
			car.Drag = func(w float64) float64 { return plain(w) * (1 + blower/(1+math.Exp((from-w)/5))) }
			return revs(car, 10, top, 0.01, 1, testcar.CANMulti, seeded(seed, 3))
		}
		before, after := side(0.22, 6300, 1), side(0.16, 4200, 2)
		f, warnings := Compare(before, after, Options{})
		cut := slices.ContainsFunc(warnings, func(w drive.Warning) bool { return w.Code == finding.CommonWindow })
		if truth := 0.22 / 0.16; cut != (blower > 0) || math.Abs(f.Ratio.Value/truth-1) > 0.005 {
			t.Errorf("blower %v: cut %v, ratio %.4f, truly %.4f", blower, cut, f.Ratio.Value, truth)
		}
		if cut {
			b, a := before.Inertia.FreeRevs(inertia.RevDown), after.Inertia.FreeRevs(inertia.RevDown)
			whole := settleTrim(b, a, inertia.RevDown, math.Max(lowest(b), lowest(a)), math.Inf(1))
			if truth := math.Log(0.22 / 0.16); math.Abs(whole.ln-truth) < math.Abs(math.Log(f.Ratio.Value)-truth) {
				t.Errorf("the whole falls give %.4f, nearer to the truth than %.4f", math.Exp(whole.ln), f.Ratio.Value)
			}
		}
	}
}

// The slowest link shows some six values of a fall: they tell the ratio all the same.
func TestFallsOfFewValuesTellTheRatio(t *testing.T) {
	rng := seeded(7, 3)
	f, _ := Compare(revs(stand(0.22), 6, 5000, 0.01, 1, testcar.KLine, rng), revs(stand(0.16), 6, 5000, 0.01, 1, testcar.KLine, rng), Options{})
	if truth := 0.22 / 0.16; f.Ratio == nil || f.Ratio.CI95[0] > truth || f.Ratio.CI95[1] < truth {
		t.Errorf("%+v, truly %.3f", f.Ratio, truth)
	}
}

// Six values of a fall can show that its shape is bent, which matters where one side was revved a quarter higher; three
// lie on a parabola whatever they are.
func TestABendIsFittedWhereValuesShowIt(t *testing.T) {
	for values, want := range map[int]int{6: 3, 3: inertia.DegreeFor([]float64{3})} {
		var runs []inertia.ShapeRun
		for k, top := range []float64{5000, 4000} {
			for range 4 {
				rpm := make([]float64, values)
				for i := range rpm {
					rpm[i] = top - 2000*float64(i)/float64(values)
				}
				runs = append(runs, inertia.ShapeRun{T: make([]float64, values), RPM: rpm, Group: k})
			}
		}
		if got := degree(runs); got != want {
			t.Errorf("%d values a fall: degree %d, want %d", values, got, want)
		}
	}
}
