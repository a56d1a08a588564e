package csvlog

import (
	"bytes"
	"math"
	"regexp"
	"slices"
	"strings"

	"flywitness/drive"
)

// Some loggers put seconds and the milliseconds behind them together without zeros: 12.7 is 7 ms past 12 s, and 12.70 never is. As fractions such times run back.

// unpaddedShape is a clock time or a number with the digits behind its seconds.
var unpaddedShape = regexp.MustCompile(`\d+:\d+:\d+[.,:](\d+)|^-?(?:\d+:)?\d+[.,](\d+)$`)

const (
	unpaddedMost  = 6 // digits
	unpaddedCells = 3 // of either kind that tell: with a zero at the end, and with fewer digits than most
)

// unpadded returns of how many decimals the digits behind the seconds are a count, 0 where they are a fraction. A fraction has as many digits in all cells, or no zero at
// its end; a count has no zero at its start, and nine of ten have all digits.
func unpadded(cells []string) int {
	var lengths [unpaddedMost + 1]int
	seen, most, tens := 0, 0, 0
	for _, s := range cells {
		m := unpaddedShape.FindStringSubmatch(s)
		if m == nil {
			continue
		}
		digits := m[1] + m[2]
		n := len(digits)
		if n > unpaddedMost || n > 1 && digits[0] == '0' {
			return 0
		}
		lengths[n]++
		seen, most = seen+1, max(most, n)
		if n > 1 && strings.HasSuffix(digits, "0") {
			tens++
		}
	}
	if full := lengths[most]; tens < unpaddedCells || seen-full < unpaddedCells || 2*full < seen {
		return 0
	}
	return most
}

// parseCounted reads a number of seconds with a count behind the mark.
func parseCounted(cell []byte, decimals int) (float64, bool) {
	i := bytes.IndexAny(cell, ".,")
	if i < 0 {
		return drive.ParseNumber(cell)
	}
	v, ok := drive.ParseNumber(cell[:i])
	if !ok || digitsEnd(cell, i+1) != len(cell) {
		return 0, false
	}
	return counted(v, cell[i+1:], decimals), true
}

// counted is whole with the count of its parts.
func counted(whole float64, digits []byte, decimals int) float64 {
	n, _ := drive.ParseNumber(digits) // digits
	return whole + math.Copysign(n/math.Pow10(decimals), whole)
}

// counts makes the digits behind the seconds a count.
func (l layout) counts(decimals int) layout {
	l = slices.Clone(l)
	for i := range l {
		if l[i].kind == fraction || l[i].decimals {
			l[i].count = decimals
		}
	}
	return l
}
