package stats

import (
	"math"
	"slices"

	"flywitness/internal/order"
)

// MADScale makes a median absolute deviation the standard deviation of a normal sample.
const MADScale = 1.4826022185056018

// Median returns the median, NaN of nothing. The slice is not changed.
func Median(v []float64) float64 { return Quantile(v, 0.5) }

// Quantile returns the p quantile, linear between order statistics (type 7 of Hyndman and Fan), NaN of nothing.
// The slice is not changed.
func Quantile(v []float64, p float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return sortedQuantile(s, p)
}

func sortedQuantile(s []float64, p float64) float64 {
	if len(s) == 0 {
		return math.NaN()
	}
	h := p * float64(len(s)-1)
	i := int(h)
	if i >= len(s)-1 {
		return s[len(s)-1]
	}
	return s[i] + (h-float64(i))*(s[i+1]-s[i])
}

// MAD returns the median absolute deviation from a centre, NaN of nothing; times MADScale it estimates a
// standard deviation.
func MAD(v []float64, centre float64) float64 {
	d := make([]float64, len(v))
	for i, x := range v {
		d[i] = math.Abs(x - centre)
	}
	if len(d) == 0 {
		return math.NaN()
	}
	return order.Median(d)
}

// MedianStep returns the median of the rising steps of time stamps; NaN with none.
func MedianStep(t []float64) float64 { return order.MedianStep(t) }

// Square returns x squared.
func Square(x float64) float64 { return x * x }

// Nearest returns the value of x that lies nearest to the q quantile, without interpolation, so that an
// infinite one does no harm; 0 of none. x is rearranged.
func Nearest(x []float64, q float64) float64 {
	if len(x) == 0 {
		return 0
	}
	return order.Kth(x, int(q*float64(len(x)-1)+0.5))
}
