package stats

import (
	"math"
	"testing"

	"flywitness/internal/numbers"

	"gonum.org/v1/gonum/mat"
)

// reference is what testdata/reference.py printed: SciPy on the same numbers.
type reference struct {
	TQuantile [][3]float64 `json:"t_quantile"`
	TwoSided  [][3]float64 `json:"t_two_sided"`
	ChiSquare [][3]float64 `json:"chi2_sf"`
	Nct       [][4]float64 `json:"nct_cdf"`
	Power     [][3]float64 `json:"power"`
	Samples   struct {
		A, B   []float64
		Pooled [2]float64
	}
	Decay struct {
		T, Y, X []float64
		Cov     [][]float64
	}
	GLS struct {
		Z, Theta  []float64
		C, J, Cov [][]float64
		Chi2, P   float64
	}
}

func load(t *testing.T) reference {
	t.Helper()
	var r reference
	numbers.Read(t, "reference.json", &r)
	return r
}

func same(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if math.Abs(got-want) > relative*math.Max(math.Abs(want), 1e-3) {
		t.Errorf("%s: %.12g, SciPy has %.12g", what, got, want)
	}
}

func TestDistributionsAgreeWithSciPy(t *testing.T) {
	r := load(t)
	for _, c := range r.TQuantile {
		same(t, "t quantile", TQuantile(c[0], c[1]), c[2], 1e-8)
	}
	for _, c := range r.TwoSided {
		same(t, "two-sided p", TwoSided(c[0], c[1]), c[2], 1e-8)
	}
	for _, c := range r.ChiSquare {
		same(t, "chi-square p", chiSquareP(c[0], c[1]), c[2], 1e-8)
	}
	for _, c := range r.Nct {
		same(t, "noncentral t", noncentralTCDF(c[0], c[1], c[2]), c[3], 1e-8)
	}
	for _, c := range r.Power {
		same(t, "power", PowerT(c[0], c[1]), c[2], 1e-8)
	}
}

func TestPooledTestAgreesWithSciPy(t *testing.T) {
	r := load(t).Samples
	a, b := Summarise(r.A), Summarise(r.B)
	p, _ := Pooled(a, b)
	same(t, "pooled t", p.T, r.Pooled[0], 1e-8)
	same(t, "pooled p", p.P, r.Pooled[1], 1e-8)
}

// Data set AUTO83B of the NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.3 (from memory).
func TestPooledTestOfNIST(t *testing.T) {
	a, b := Summary{249, 20.14458, 6.41470}, Summary{79, 30.48101, 6.10771}
	p, ok := Pooled(a, b)
	if !ok || math.Abs(p.T+12.62059) > 1e-5 || p.DF != 326 {
		t.Errorf("pooled T %.6f with %v degrees of freedom, published -12.62059 with 326", p.T, p.DF)
	}
}

func TestNonlinearFitAgreesWithSciPy(t *testing.T) {
	r := load(t).Decay
	fit, err := Fit(func(x, res []float64) {
		for i, at := range r.T {
			res[i] = (r.Y[i] - x[0]*math.Exp(-x[1]*at) - x[2]) / 0.02
		}
	}, len(r.T), []float64{1, 1, 0}, []float64{1, 1, 1})
	if err != nil {
		t.Fatal(err)
	}
	for i := range r.X {
		same(t, "parameter", fit.X[i], r.X[i], 1e-6)
		for j := range r.X {
			same(t, "covariance", fit.Cov.At(i, j), r.Cov[i][j], 1e-4) // both from difference quotients
		}
	}
}

func TestGeneralisedLeastSquaresAgreesWithNumPy(t *testing.T) {
	r := load(t).GLS
	cov := mat.NewSymDense(4, nil)
	for i := range 4 {
		for j := i; j < 4; j++ {
			cov.SetSym(i, j, r.C[i][j])
		}
	}
	c, err := Combine(r.Z, cov, []float64{-1, -1}, func(theta []float64, jac *mat.Dense) []float64 {
		out := make([]float64, 4)
		for i, row := range r.J {
			out[i] = row[0]*theta[0] + row[1]*theta[1]
			jac.Set(i, 0, row[0])
			jac.Set(i, 1, row[1])
		}
		return out
	})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 2 {
		same(t, "theta", c.Theta[i], r.Theta[i], 1e-8)
		for j := range 2 {
			same(t, "covariance", c.Cov.At(i, j), r.Cov[i][j], 1e-8)
		}
	}
	same(t, "chi-square", c.Chi2, r.Chi2, 1e-8)
	same(t, "p", c.P, r.P, 1e-8)
}

func TestMedianStepSkipsStampsThatDoNotRise(t *testing.T) {
	if d := MedianStep([]float64{0, 1, 1, 0.5, 2.5, 5.5}); d != 2 {
		t.Errorf("median step %g, want 2", d)
	}
	if d := MedianStep([]float64{3, 2, 1}); !math.IsNaN(d) {
		t.Errorf("median step of falling stamps %g, want NaN", d)
	}
}
