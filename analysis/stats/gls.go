package stats

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Combination is the generalised-least-squares answer of several measurements of the same few quantities.
type Combination struct {
	Theta []float64
	Cov   *mat.SymDense
	Chi2  float64
	DF    int
	P     float64   // of a chi-square at least this large; 1 with no degree of freedom
	Pulls []float64 // residual of each measurement over its own standard deviation
}

// Combine solves for theta in value = model(theta) + error with the covariance of the errors, by Gauss-Newton
// steps from start. model returns the predictions and fills jac (measurements x parameters). Errors that
// several measurements share stand in the covariance, not in theta (Aitken 1935).
func Combine(value []float64, cov *mat.SymDense, start []float64,
	model func(theta []float64, jac *mat.Dense) []float64) (*Combination, error) {
	m, n := len(value), len(start)
	if m < n {
		return nil, errNoFit
	}
	var ch mat.Cholesky
	if !ch.Factorize(cov) {
		return nil, errNoFit
	}
	c := &Combination{Theta: append([]float64(nil), start...), Cov: mat.NewSymDense(n, nil), DF: m - n, P: 1}
	jac := mat.NewDense(m, n, nil)
	r := mat.NewVecDense(m, nil)
	residual := func() {
		jac.Zero()
		for i, p := range model(c.Theta, jac) {
			r.SetVec(i, value[i]-p)
		}
	}
	for range 50 {
		residual()
		var wj, normal mat.Dense
		var wr, rhs, step mat.VecDense
		if ch.SolveTo(&wj, jac) != nil || ch.SolveVecTo(&wr, r) != nil {
			return nil, errNoFit
		}
		normal.Mul(jac.T(), &wj)
		rhs.MulVec(jac.T(), &wr)
		sym := mat.NewSymDense(n, nil)
		for i := range n {
			for j := i; j < n; j++ {
				sym.SetSym(i, j, normal.At(i, j))
			}
		}
		var nc mat.Cholesky
		if !nc.Factorize(sym) || nc.SolveVecTo(&step, &rhs) != nil ||
			nc.InverseTo(c.Cov) != nil {
			return nil, errNoFit
		}
		moved := 0.0
		for i := range n {
			d := math.Max(-0.5, math.Min(0.5, step.AtVec(i)))
			c.Theta[i] += d
			moved = math.Max(moved, math.Abs(d))
		}
		if math.IsNaN(moved) {
			return nil, errNoFit
		}
		if moved < 1e-12 {
			break
		}
	}
	residual()
	var wr mat.VecDense
	if ch.SolveVecTo(&wr, r) != nil {
		return nil, errNoFit
	}
	c.Chi2 = mat.Dot(r, &wr)
	if c.DF > 0 {
		c.P = chiSquareP(c.Chi2, float64(c.DF))
	}
	for i := range m {
		c.Pulls = append(c.Pulls, r.AtVec(i)/math.Sqrt(cov.At(i, i)))
	}
	return c, nil
}
