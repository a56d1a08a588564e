package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Summary is a sample by its size, mean and standard deviation.
type Summary struct {
	N        int
	Mean, SD float64
}

// Summarise returns the summary of a sample; SD is 0 for fewer than two values.
func Summarise(v []float64) Summary {
	s := Summary{N: len(v)}
	if s.N == 0 {
		return s
	}
	for _, x := range v {
		s.Mean += x
	}
	s.Mean /= float64(s.N)
	if s.N > 1 {
		sum := 0.0
		for _, x := range v {
			sum += (x - s.Mean) * (x - s.Mean)
		}
		s.SD = math.Sqrt(sum / float64(s.N-1))
	}
	return s
}

// TTest is the result of a two-sample t test: statistic, degrees of freedom, two-sided p value.
type TTest struct{ T, DF, P float64 }

// Pooled tests equal means of two samples of equal variance.
func Pooled(a, b Summary) (t TTest, ok bool) {
	df := float64(a.N + b.N - 2)
	if a.N < 1 || b.N < 1 || df < 1 {
		return TTest{}, false
	}
	v := (float64(a.N-1)*a.SD*a.SD + float64(b.N-1)*b.SD*b.SD) / df
	if v == 0 {
		return TTest{}, false
	}
	return tTest((a.Mean-b.Mean)/math.Sqrt(v*(1/float64(a.N)+1/float64(b.N))), df), true
}

func tTest(t, df float64) TTest { return TTest{T: t, DF: df, P: TwoSided(t, df)} }

// Satterthwaite returns the degrees of freedom of a sum of independent variances, each estimated with its own; an
// infinite df marks a variance that is known.
func Satterthwaite(variance, df []float64) float64 {
	sum, den := 0.0, 0.0
	for i, v := range variance {
		sum += v
		if !math.IsInf(df[i], 1) && df[i] > 0 {
			den += v * v / df[i]
		}
	}
	if den == 0 {
		return math.Inf(1)
	}
	return sum * sum / den
}

// TwoSided returns the probability of a value at least as far from 0 as t under Student's distribution; df may
// be +Inf.
func TwoSided(t, df float64) float64 {
	if normalEnough(df) {
		return 2 * distuv.UnitNormal.Survival(math.Abs(t))
	}
	return 2 * distuv.StudentsT{Sigma: 1, Nu: df}.Survival(math.Abs(t))
}

// TQuantile returns the p quantile of Student's distribution; df may be +Inf.
func TQuantile(p, df float64) float64 {
	if normalEnough(df) {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(p)
}

// manyDF is from where Student's distribution is the normal one to eight digits.
const manyDF = 1e7

// Beyond ten million degrees of freedom the two distributions differ by less than 1e-7 and the incomplete beta
// function no longer converges quickly.
func normalEnough(df float64) bool { return df > manyDF }

// chiSquareP returns the probability of a chi-square at least this large.
func chiSquareP(x, df float64) float64 { return distuv.ChiSquared{K: df}.Survival(x) }
