// Package stats holds what gonum lacks: estimates with intervals, tests of two samples, robust means.
package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Estimate is a measured quantity: its value, its standard deviation and its 95 % interval, all in one unit that the
// name of the field carrying it tells. In results it is used by pointer: nil (null) is "cannot be had", and a warning
// says why.
type Estimate struct {
	Value float64    `json:"value"`
	SD    float64    `json:"sd"`
	CI95  [2]float64 `json:"ci95"`
}

// Normal returns the estimate of a value whose error is normal with a known standard deviation.
func Normal(value, sd float64) *Estimate {
	h := 1.959963984540054 * sd
	return &Estimate{Value: value, SD: sd, CI95: [2]float64{value - h, value + h}}
}

// LogNormal returns the estimate of a positive quantity whose logarithm has a normal error of standard deviation sd.
func LogNormal(ln, sd float64) *Estimate {
	v, h := math.Exp(ln), 1.959963984540054*sd
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

// Scale returns e times k, interval ends in rising order; nil stays nil.
func (e *Estimate) Scale(k float64) *Estimate {
	if e == nil {
		return nil
	}
	lo, hi := e.CI95[0]*k, e.CI95[1]*k
	sd := e.SD * k
	if k < 0 {
		lo, hi, sd = hi, lo, -sd
	}
	return &Estimate{Value: e.Value * k, SD: sd, CI95: [2]float64{lo, hi}}
}
