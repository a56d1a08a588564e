package stats

import (
	"errors"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// errNoFit says that a least-squares fit did not come to an end or is not determined.
var errNoFit = errors.New("the fit is not determined by the data")

// LeastSquares is a fitted nonlinear model.
type LeastSquares struct {
	X   []float64
	Cov *mat.SymDense // (J'J)^-1 at X: the covariance for residuals in units of their standard deviation
	RSS float64
}

// Fit minimises the sum of squares of the residuals by Levenberg-Marquardt steps (Marquardt 1963) from x0, with
// central differences of the relative size given for each parameter by scale. residuals fills r (of length m)
// for x. Residuals are best in units of their standard deviation; a prior is one more residual.
func Fit(residuals func(x, r []float64), m int, x0, scale []float64) (*LeastSquares, error) {
	n := len(x0)
	x, trial := slices.Clone(x0), make([]float64, n)
	r, rt := make([]float64, m), make([]float64, m)
	residuals(x, r)
	rss := dot(r, r)
	lambda := 1e-3
	jac := make([][]float64, n)
	for i := range jac {
		jac[i] = make([]float64, m)
	}
	for range 100 {
		differences(residuals, x, r, scale, jac)
		normal, grad := normalEquations(jac, r)
		improved := false
		for range 12 {
			step, ok := dampedStep(normal, grad, lambda)
			if ok {
				for i := range x {
					trial[i] = x[i] + step[i]
				}
				residuals(trial, rt)
				if t := dot(rt, rt); t <= rss { // never of NaN
					done := rss-t <= 1e-12*(rss+1e-12)
					copy(x, trial)
					copy(r, rt)
					rss, lambda, improved = t, lambda/10, !done
					break
				}
			}
			lambda *= 10
		}
		if !improved {
			break
		}
	}
	differences(residuals, x, r, scale, jac)
	normal, _ := normalEquations(jac, r)
	var ch mat.Cholesky
	cov := mat.NewSymDense(n, nil)
	if !ch.Factorize(normal) || ch.InverseTo(cov) != nil {
		return nil, errNoFit
	}
	return &LeastSquares{X: x, Cov: cov, RSS: rss}, nil
}

// differences fills jac with the derivatives of the residuals by central differences.
func differences(residuals func(x, r []float64), x, r, scale []float64, jac [][]float64) {
	other := make([]float64, len(r))
	y := slices.Clone(x)
	for i := range x {
		h := 1e-5 * scale[i]
		y[i] = x[i] + h
		residuals(y, jac[i])
		y[i] = x[i] - h
		residuals(y, other)
		y[i] = x[i]
		for j := range other {
			jac[i][j] = (jac[i][j] - other[j]) / (2 * h)
		}
	}
}

func normalEquations(jac [][]float64, r []float64) (*mat.SymDense, *mat.VecDense) {
	n := len(jac)
	a, g := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		g.SetVec(i, -dot(jac[i], r))
		for j := i; j < n; j++ {
			a.SetSym(i, j, dot(jac[i], jac[j]))
		}
	}
	return a, g
}

func dampedStep(a *mat.SymDense, g *mat.VecDense, lambda float64) ([]float64, bool) {
	n := a.SymmetricDim()
	d := mat.NewSymDense(n, nil)
	d.CopySym(a)
	for i := range n {
		d.SetSym(i, i, a.At(i, i)*(1+lambda)+1e-300)
	}
	var ch mat.Cholesky
	if !ch.Factorize(d) {
		return nil, false
	}
	var s mat.VecDense
	if ch.SolveVecTo(&s, g) != nil {
		return nil, false
	}
	return s.RawVector().Data, true
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}
