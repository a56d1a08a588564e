package chart

import (
	"cmp"
	"math"
	"slices"
)

// thin returns the points of a curve that a picture of the given number of columns needs: of each column the first, the
// lowest, the highest and the last, in their order, so that no peak is lost. Gaps (NaN) stay gaps. A curve that is
// short already, or whose x runs backwards, comes back as it is. lo and hi are the ends of the horizontal axis.
func thin(x, y []float64, lo, hi float64, columns int) (tx, ty []float64) {
	keep := kept(x, y, lo, hi, columns)
	if keep == nil {
		return x, y
	}
	return pick(x, keep), pick(y, keep)
}

// kept returns the indices that thin keeps, nil for all.
func kept(x, y []float64, lo, hi float64, columns int) []int {
	if len(x) <= 4*columns || hi <= lo {
		return nil
	}
	for i := 1; i < len(x); i++ {
		if x[i] < x[i-1] {
			return nil
		}
	}
	column := func(v float64) int { return int(math.Floor((v - lo) / (hi - lo) * float64(columns))) }
	var keep []int
	for i := 0; i < len(x); {
		if math.IsNaN(y[i]) {
			keep = append(keep, i)
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
		for _, k := range [4]int{first, min(low, high), max(low, high), i - 1} {
			if n := len(keep); n == 0 || keep[n-1] != k {
				keep = append(keep, k)
			}
		}
	}
	return keep
}

func pick(v []float64, at []int) []float64 {
	out := make([]float64, len(at))
	for i, k := range at {
		out[i] = v[k]
	}
	return out
}

// thin does the same for an area, by its height.
func (a Area) thin(lo, hi float64, columns int) Area {
	height := make([]float64, len(a.X))
	for i := range height {
		height[i] = a.High[i] - a.Low[i]
	}
	if keep := kept(a.X, height, lo, hi, columns); keep != nil {
		a.X, a.Low, a.High = pick(a.X, keep), pick(a.Low, keep), pick(a.High, keep)
	}
	return a
}

// ascending returns the points in the order of x.
func ascending(x, y []float64) ([]float64, []float64) {
	at := make([]int, len(x))
	for i := range at {
		at[i] = i
	}
	slices.SortStableFunc(at, func(i, j int) int { return cmp.Compare(x[i], x[j]) })
	return pick(x, at), pick(y, at)
}
