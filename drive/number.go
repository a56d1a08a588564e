package drive

import (
	"math"
	"strconv"
)

// Pow10 holds the powers of ten that a float64 represents exactly.
var Pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// ParseNumber reads a decimal number such as -12.5 or 1e-05 from b without allocating. NaN, infinity, hexadecimal and
// underscores are not numbers here. Up to 15 digits are converted as an integer divided by an exact power of ten, which IEEE 754 division
// rounds correctly; longer ones go to strconv.
func ParseNumber(b []byte) (float64, bool) {
	i, neg := 0, false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	}
	var mantissa uint64
	digits, decimals, seen, point := 0, 0, false, false
	for ; i < len(b); i++ {
		c := b[i]
		if c == '.' {
			if point {
				return 0, false
			}
			point = true
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		seen = true
		if digits > 0 || c != '0' {
			digits++
		}
		if digits <= 15 {
			mantissa = mantissa*10 + uint64(c-'0')
		}
		if point {
			decimals++
		}
	}
	if !seen {
		return 0, false
	}
	if i == len(b) && digits <= 15 && decimals < len(Pow10) {
		v := float64(mantissa) / Pow10[decimals]
		if neg {
			v = -v
		}
		return v, true
	}
	return parseLong(b, i)
}

// parseLong reads what the fast way cannot: many digits, or an exponent at b[i].
func parseLong(b []byte, i int) (float64, bool) {
	if i < len(b) && b[i] != 'e' && b[i] != 'E' {
		return 0, false
	}
	if len(b) > 1100 { // longer than any float64 written out in full
		return 0, false
	}
	v, err := strconv.ParseFloat(string(b), 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, false
	}
	return v, true
}
