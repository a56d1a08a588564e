package stats

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// PowerT returns the probability that a two-sided 5 % t test with df degrees of freedom finds an effect of ncp
// standard errors: a noncentral t distribution beyond the critical value on either side.
func PowerT(ncp, df float64) float64 { return powerT(TQuantile(0.975, df), ncp, df) }

func powerT(critical, ncp, df float64) float64 {
	return 1 - noncentralTCDF(critical, ncp, df) + noncentralTCDF(-critical, ncp, df)
}

// unitNodes and unitWeights are a Gauss-Legendre rule on 0..1; working it out takes longer than using it.
var unitNodes, unitWeights = func() (x, w []float64) {
	x, w = make([]float64, 96), make([]float64, 96)
	quad.Legendre{}.FixedLocations(x, w, 0, 1)
	return x, w
}()

func integrate(f func(float64) float64, lo, hi float64) float64 {
	sum := 0.0
	for i, x := range unitNodes {
		sum += unitWeights[i] * f(lo+(hi-lo)*x)
	}
	return sum * (hi - lo)
}

// noncentralTCDF returns P(T <= t) of the noncentral t distribution, by integrating the normal distribution over the
// chi distribution of the standard deviation: P = E[Phi(t s - ncp)], s^2 ~ chi^2_df / df. df may be +Inf.
func noncentralTCDF(t, ncp, df float64) float64 {
	if normalEnough(df) {
		return distuv.UnitNormal.CDF(t - ncp)
	}
	// Log density of s: chi with df degrees of freedom over sqrt(df).
	lg, _ := math.Lgamma(df / 2)
	k := math.Ln2 - lg + df/2*math.Log(df/2)
	f := func(s float64) float64 {
		if s <= 0 {
			return 0
		}
		return math.Exp(k+(df-1)*math.Log(s)-df*s*s/2) * distuv.UnitNormal.CDF(t*s-ncp)
	}
	width := 12 / math.Sqrt(2*df)
	lo, hi := math.Max(0, 1-width), 1+width
	// Two panels: for few degrees of freedom the density is steep near 0.
	mid := math.Max(lo, math.Min(1, hi))
	return integrate(f, lo, mid) + integrate(f, mid, hi)
}

// DetectableT returns the effect in standard errors that a two-sided 5 % t test with df degrees of freedom finds with
// probability power.
func DetectableT(power, df float64) float64 {
	critical := TQuantile(0.975, df)
	lo, hi := 0.0, critical
	for powerT(critical, hi, df) < power {
		lo, hi = hi, 2*hi
	}
	for hi-lo > 1e-9 {
		mid := (lo + hi) / 2
		if powerT(critical, mid, df) < power {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// RunsNeeded returns the smallest number of runs a side, at most limit, with which a two-sided 5 % t test finds
// a difference delta of two means whose runs scatter by sd, with probability power; ok is false when limit is
// not enough.
func RunsNeeded(delta, sd, power float64, limit int) (n int, ok bool) {
	enough := func(n int) bool {
		return PowerT(math.Abs(delta)/(sd*math.Sqrt(2/float64(n))), float64(2*n-2)) >= power
	}
	if delta == 0 || limit < 2 || !enough(limit) {
		return limit, false
	}
	lo, hi := 1, limit // power rises with n: lo is not enough, hi is
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; enough(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true
}
