package stats

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// normalScores is a normal sample without chance in it: n quantiles of equal shares, of a standard deviation.
func normalScores(n int, sd float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = sd * distuv.UnitNormal.Quantile((float64(i)+0.5)/float64(n))
	}
	return out
}

// oneGroup fits values that all belong together and have one error of their own.
func oneGroup(t *testing.T, y []float64, sd float64) *Groups {
	t.Helper()
	s2 := make([]float64, len(y))
	for i := range s2 {
		s2[i] = sd * sd
	}
	g, ok := RobustGroups(y, s2, make([]int, len(y)), 1)
	if !ok {
		t.Fatal("no fit")
	}
	return g
}

func TestMADOfANormalSample(t *testing.T) {
	if sd := MADScale * MAD(normalScores(1001, 3), 0); math.Abs(sd-3) > 0.02 {
		t.Errorf("standard deviation %.3f by the median deviation, truly 3", sd)
	}
}

// Of a large normal sample the spread is its standard deviation, and the variance of the mean sd^2/n: psi is scaled
// to that.
func TestSpreadOfManyRuns(t *testing.T) {
	const n, sd = 2000, 0.03
	g := oneGroup(t, normalScores(n, sd), 1e-4)
	if math.Abs(g.Tau/sd-1) > 0.02 {
		t.Errorf("spread %.4f, truly %.4f", g.Tau, sd)
	}
	if v := g.Variance(0) * n / (sd * sd); v < 1 || v > 1.06 { // 96 % of the efficiency of the mean at the usual bend
		t.Errorf("variance of the mean %.3f of sd^2/n", v)
	}
}

// One run in twenty that went wrong moves the mean by no more than a run at the bend would: 1.5 x 2 % / 19 = 0.16 %.
func TestAWildRunHardlyMovesTheMean(t *testing.T) {
	g := oneGroup(t, append(normalScores(19, 0.02), 0.4), 1e-4)
	if g.Mean[0] <= 0 || g.Mean[0] > 0.0025 {
		t.Errorf("mean moved by %.4f", g.Mean[0])
	}
}

// Two runs that agree by chance do not show that runs always do: what is usual counts beside them. Eight that
// scatter by 6 % show it themselves. By hand, with four usual runs of 1.5 %: three equal ones 1.5 % sqrt(4/6) = 1.2
// %; eight sqrt((4 x 1.5^2 + 7 x 6^2)/11) = 4.9 %.
func TestFewRunsLeanOnWhatIsUsual(t *testing.T) {
	if g := oneGroup(t, []float64{0.1, 0.1, 0.1}, 1e-4); g.Tau < 0.01 || g.Tau > 0.015 {
		t.Errorf("three equal runs: spread %.4f, by hand 0.012", g.Tau)
	}
	if g := oneGroup(t, normalScores(8, 0.06*0.06/Summarise(normalScores(8, 0.06)).SD), 1e-4); g.Tau < 0.043 ||
		g.Tau > 0.055 {
		t.Errorf("eight runs of 6 %%: spread %.4f, by hand 0.049", g.Tau)
	}
}

// A hundred runs that repeat to a fifth of a per cent: each counts by its own error, but no run counts as if it had
// none. With half a per cent between runs, one told to 0.1 % counts (0.5^2 + 1^2) / (0.5^2 + 0.1^2) = 4.8 times as
// much as one told to 1 %.
func TestRunsThatRepeatCountByTheirOwnError(t *testing.T) {
	y := normalScores(100, 0.002)
	s2 := make([]float64, len(y))
	for i := range s2 {
		s2[i] = 0.001 * 0.001
		if i%2 == 1 {
			s2[i] = 0.01 * 0.01
		}
	}
	g, ok := RobustGroups(y, s2, make([]int, len(y)), 1)
	if !ok {
		t.Fatal("no fit")
	}
	if r := g.Value[50] / g.Value[51]; r < 3 || r > 10 {
		t.Errorf("a sure run counts %.1f times as much as an unsure one", r)
	}
}

// Residuals that are no number, or whose squares are beyond all numbers, tell nothing.
func TestFitOfNoNumbersIsRefused(t *testing.T) {
	for _, slope := range []float64{math.NaN(), math.Inf(1), 1e200} {
		if fit, err := Fit(func(x, r []float64) { r[0] = slope * (x[0] - 1) }, 1, []float64{3}, []float64{1}); err == nil {
			t.Errorf("slope %g: %+v", slope, fit)
		}
	}
}

// Beyond ten million degrees of freedom Student's distribution is the normal one: 1.959964 at 97.5 % (any table).
func TestManyDegreesOfFreedomAreNormal(t *testing.T) {
	for _, df := range []float64{1e8, 1e15, math.Inf(1)} {
		if q := TQuantile(0.975, df); math.Abs(q-1.959964) > 1e-6 {
			t.Errorf("%g degrees of freedom: %v", df, q)
		}
		if p := TwoSided(1.959964, df); math.Abs(p-0.05) > 1e-6 {
			t.Errorf("%g degrees of freedom: p %v", df, p)
		}
		if p := noncentralTCDF(1, 1, df); math.Abs(p-0.5) > 1e-9 {
			t.Errorf("%g degrees of freedom, noncentral: %v", df, p)
		}
	}
}

func TestCombiningNoNumberIsRefused(t *testing.T) {
	cov := mat.NewSymDense(1, []float64{1})
	c, err := Combine([]float64{math.NaN()}, cov, []float64{0}, func(theta []float64, jac *mat.Dense) []float64 {
		jac.Set(0, 0, 1)
		return theta
	})
	if err == nil {
		t.Errorf("%+v", c)
	}
}
