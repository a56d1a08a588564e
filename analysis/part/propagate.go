// Package part measures parts on the bench: the inertia of a flywheel, cover or disc from its shape or from a pendulum
// test, and the torque that a clutch can hold. Everything is SI.
package part

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/stats"
)

// Input is one quantity that a result is computed from, with its standard deviation. DF are the degrees of
// freedom of SD: 0 when it is a judgement or a data sheet and not a scatter of repeats.
type Input struct {
	Name  string
	Value float64
	SD    float64
	DF    float64
}

// Share is what one input adds to the standard deviation of a result, in per cent of the result.
type Share struct {
	Input string  `json:"input"`
	Pct   float64 `json:"pct_of_value"`
}

// propagate returns f at the inputs with the uncertainty that they give it, and the shares, largest first. The
// inputs are independent of each other; what two parts of a result have in common (the same rig, the same
// friction) is one input, so that common errors cancel or add as they do in nature. Source: Guide to the
// Expression of Uncertainty in Measurement (JCGM 100:2008), 5.1.2 with the differences of 5.1.3 note 2,
// effective degrees of freedom by G.4 (from memory).
func propagate(inputs []Input, f func(x []float64) float64) (*stats.Estimate, []Share) {
	x := make([]float64, len(inputs))
	for i, in := range inputs {
		x[i] = in.Value
	}
	value := f(x)
	var variance, df []float64
	var shares []Share
	total := 0.0
	for i, in := range inputs {
		if in.SD == 0 {
			continue
		}
		x[i] = in.Value + in.SD
		up := f(x)
		x[i] = in.Value - in.SD
		down := f(x)
		x[i] = in.Value
		u := (up - down) / 2
		if math.Abs(u) <= 1e-12*math.Abs(value) {
			continue // an input that drops out of the result, but for rounding
		}
		variance = append(variance, u*u)
		df = append(df, in.df())
		total += u * u
		if value != 0 {
			shares = append(shares, Share{in.Name, 100 * math.Abs(u/value)})
		}
	}
	slices.SortStableFunc(shares, func(a, b Share) int { return cmp.Compare(b.Pct, a.Pct) })
	if dof := stats.Satterthwaite(variance, df); !math.IsInf(dof, 1) {
		return stats.StudentT(value, math.Sqrt(total), dof), shares
	}
	return stats.Normal(value, math.Sqrt(total)), shares
}

func (in Input) df() float64 {
	if in.DF == 0 {
		return math.Inf(1)
	}
	return in.DF
}
