package drive

import (
	"math"
	"strconv"
)

// pow10 holds the powers of ten that a float64 represents exactly.
var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// ParseNumber reads a decimal number such as -12.5 or 1e-05 from b without allocating. NaN, infinity, hexadecimal and
// underscores are not numbers here.
func ParseNumber(b []byte) (float64, bool) {
	digits := b
	if len(b) > 1 && b[0] == '+' && b[1] != '-' {
		digits = b[1:]
	}
	if v, end := PlainNumber(digits, 0, '.'); end == len(digits) {
		return v, true
	}
	return parseLong(b)
}

// PlainNumber reads the decimal number that begins at b[i], with mark before its decimals, and returns where it ends; -1 when there is none,
// or one of more than 15 digits. Up to 15 digits are an integer that a float64 holds exactly. It is divided by an exact power of ten, which
// IEEE 754 rounds correctly, so the value is that of strconv.ParseFloat.
func PlainNumber(b []byte, i int, mark byte) (v float64, end int) {
	if i+shortMost > len(b) || b[i] == '-' {
		return anyPlainNumber(b, i, mark)
	}
	// Most numbers: without a sign, well before the end of b. An array spares the processor a look at every index.
	short := (*[shortMost]byte)(b[i:])
	var m uint64
	n := 0
	for ; n < shortMost && short[n]-'0' < 10; n++ {
		m = m*10 + uint64(short[n]-'0')
	}
	if n == 0 || n > shortMost-2 {
		return anyPlainNumber(b, i, mark)
	}
	if short[n] != mark {
		return float64(m), i + n
	}
	n++
	point := n
	for ; n < shortMost && short[n]-'0' < 10; n++ {
		m = m*10 + uint64(short[n]-'0')
	}
	if n == shortMost {
		return anyPlainNumber(b, i, mark)
	}
	return float64(m) / pow10[n-point], i + n
}

// shortMost is how many bytes a plain number has, with what stands behind it, of those that are read the short way.
const shortMost = 16

func anyPlainNumber(b []byte, i int, mark byte) (v float64, end int) {
	neg := i < len(b) && b[i] == '-'
	if neg {
		i++
	}
	start := i
	var m uint64
	for ; i < len(b) && b[i]-'0' < 10; i++ {
		m = m*10 + uint64(b[i]-'0')
	}
	digits, decimals := i-start, 0
	if i < len(b) && b[i] == mark {
		i++
		point := i
		for ; i < len(b) && b[i]-'0' < 10; i++ {
			m = m*10 + uint64(b[i]-'0')
		}
		decimals = i - point
		digits += decimals
	}
	if digits == 0 || digits > 15 {
		return 0, -1
	}
	v = float64(m) / pow10[decimals]
	if neg {
		v = -v
	}
	return v, i
}

// parseLong reads what is not plain: many digits, or an exponent.
func parseLong(b []byte) (float64, bool) {
	for _, c := range b {
		if !(c >= '0' && c <= '9' || c == '.' || c == '-' || c == '+' || c == 'e' || c == 'E') {
			return 0, false
		}
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
