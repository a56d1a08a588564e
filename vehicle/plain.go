package vehicle

import (
	"math"
	"strconv"
)

// Plain writes a number to so many significant digits as people write it, never with an exponent: 3500, not 3.5e+03. What is
// larger or smaller than anybody measures is told as such.
func Plain(x float64, digits int) string {
	size := math.Abs(x)
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
		return strconv.FormatFloat(x, 'g', -1, 64)
	case size >= 1e15:
		return "more than 10^15"
	case size > 0 && size < 1e-9:
		return "less than 10^-9"
	case x == 0:
		return "0"
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'e', digits-1, 64), 64)
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
