// Package figure writes numbers as people read them: rounded to what their uncertainty supports, in the unit system of
// the reader. Text and pages take their numbers from here, so that they agree to the last digit.
package figure

import (
	"fmt"
	"math"
	"strconv"
)

// decimals returns how many decimals a value with this standard deviation deserves; negative for tens, hundreds.
// The rule is that of the Particle Data Group (Review of Particle Physics, introduction; from memory): the three
// highest digits of the sd decide whether it keeps two digits (100 to 354) or one (355 and above).
func decimals(sd float64) int {
	if !(sd > 0) || math.IsInf(sd, 0) {
		return 3
	}
	exp := int(math.Floor(math.Log10(sd)))
	lead := math.Round(sd / math.Pow10(exp-2))
	if lead < 355 {
		return 1 - exp
	}
	return -exp
}

// Round writes x with the given number of decimals; a negative number rounds to tens, hundreds and so on.
func Round(x float64, decimals int) string {
	if decimals < 0 {
		p := math.Pow10(-decimals)
		x, decimals = math.Round(x/p)*p, 0
	}
	if decimals > 12 {
		decimals = 12
	}
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if v, err := strconv.ParseFloat(s, 64); err == nil && v == 0 && s[0] == '-' {
		s = s[1:] // no minus zero
	}
	return s
}

// Number writes x to what a standard deviation of sd supports, without the sd. With sd 0 (exact, or unknown) it keeps
// three significant digits.
func Number(x, sd float64) string {
	if sd > 0 && !math.IsInf(sd, 0) {
		return Round(x, decimals(sd))
	}
	return Significant(x, 3)
}

// Significant writes x with n significant digits, never in exponent form.
func Significant(x float64, n int) string {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	exp := int(math.Floor(math.Log10(math.Abs(x))))
	if r := math.Abs(x) / math.Pow10(exp); math.Round(r*math.Pow10(n-1)) >= math.Pow10(n) {
		exp++
	}
	return Round(x, n-1-exp)
}

// interval writes an estimate, already in the unit named, as "0.166 ± 0.006 kg m^2 (95 %: 0.154 to 0.178)"; the figure
// after ± is the standard deviation. nil is "cannot be had".
func interval(e *Estimate, unit string) string {
	if e == nil {
		return "cannot be had"
	}
	short := WithUnit(uncertain(e.Value, e.SD), unit)
	if !(e.SD > 0) {
		return short
	}
	d := decimals(e.SD)
	return fmt.Sprintf("%s (95 %%: %s to %s)", short, Round(e.CI95[0], d), Round(e.CI95[1], d))
}

// uncertain writes a value and its standard deviation; the value alone where none is known.
func uncertain(value, sd float64) string {
	if !(sd > 0) {
		return Significant(value, 3)
	}
	d := decimals(sd)
	return Round(value, d) + " ± " + Round(sd, d)
}

// WithUnit puts the unit behind a number, nothing when there is none.
func WithUnit(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + " " + unit
}
