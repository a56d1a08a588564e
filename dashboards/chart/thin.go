package chart

import "math"

// Thin returns the points of a curve that a picture of the given number of columns needs: of each column the first, the
// lowest, the highest and the last, in their order, so that no peak is lost. Gaps (NaN) stay gaps. A curve that is
// short already, or whose x runs backwards, comes back as it is. lo and hi are the ends of the horizontal axis.
func Thin(x, y []float64, lo, hi float64, columns int) (tx, ty []float64) {
	if len(x) <= 4*columns || hi <= lo {
		return x, y
	}
	for i := 1; i < len(x); i++ {
		if x[i] < x[i-1] {
			return x, y
		}
	}
	column := func(v float64) int { return int(math.Floor((v - lo) / (hi - lo) * float64(columns))) }
	for i := 0; i < len(x); {
		if math.IsNaN(y[i]) {
			tx, ty = append(tx, x[i]), append(ty, y[i])
			for i < len(x) && math.IsNaN(y[i]) {
				i++
			}
			continue
		}
		first, low, high, c := i, i, i, column(x[i])
		for ; i < len(x) && !math.IsNaN(y[i]) && column(x[i]) == c; i++ {
			if y[i] < y[low] {
				low = i
			}
			if y[i] > y[high] {
				high = i
			}
		}
		last := -1
		for _, k := range [4]int{first, min(low, high), max(low, high), i - 1} {
			if k != last {
				tx, ty = append(tx, x[k]), append(ty, y[k])
			}
			last = k
		}
	}
	return tx, ty
}
