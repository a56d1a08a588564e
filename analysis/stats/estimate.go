// Package stats holds what gonum lacks: estimates with intervals, tests of two samples, robust means.
package stats

import (
	"math"

	"flywitness/figure"

	"gonum.org/v1/gonum/stat/distuv"
)

// Estimate is a measured quantity: its value, its standard deviation and its 95 % interval, all in one unit.
type Estimate = figure.Estimate

// Normal975 is the 97.5 % quantile of the normal distribution.
const Normal975 = 1.959963984540054

// Normal returns the estimate of a value whose error is normal with a known standard deviation.
func Normal(value, sd float64) *Estimate {
	h := Normal975 * sd
	return &Estimate{Value: value, SD: sd, CI95: [2]float64{value - h, value + h}}
}

// LogNormal returns the estimate of a positive quantity whose logarithm has a normal error of standard deviation sd.
func LogNormal(ln, sd float64) *Estimate {
	v, h := math.Exp(ln), Normal975*sd
	return &Estimate{Value: v, SD: v * sd, CI95: [2]float64{v * math.Exp(-h), v * math.Exp(h)}}
}

// StudentT returns the estimate of a value whose standard deviation was itself estimated with df degrees of freedom.
func StudentT(value, sd, df float64) *Estimate {
	if df <= 0 {
		return nil
	}
	h := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(0.975) * sd
	return &Estimate{Value: value, SD: sd, CI95: [2]float64{value - h, value + h}}
}
