package drive

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"flywitness/internal/numbers"
)

// Plain decimals are read as exactly the float64 of strconv.ParseFloat, over random decimals as loggers write them.
func TestPlainNumberIsParseFloat(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(8, 8))
	for range 300_000 {
		text := strconv.FormatFloat((rng.Float64()-0.3)*math.Pow10(rng.IntN(9)), 'f', rng.IntN(9), 64)
		want, err := strconv.ParseFloat(text, 64)
		for _, behind := range []string{",7", ",7, and so much more that the number lies well before the end"} {
			got, end := PlainNumber([]byte(text+behind), 0, '.')
			if err != nil || end >= 0 && (end != len(text) || math.Float64bits(got) != math.Float64bits(want)) {
				t.Fatalf("%q is read as %v up to %d, want %v", text, got, end, want)
			}
			if digits := len(strings.Trim(text, "-")); end < 0 && digits <= 15 {
				t.Fatalf("%q is no plain number", text)
			}
		}
	}
}

// What is not plain is left to others.
func TestPlainNumberKnowsItsLimits(t *testing.T) {
	for _, text := range []string{"", ",", "-", ".", "-.", "+1", "x", "1234567890123456", "0.1234567890123456", "\"1\"", "NaN"} {
		for _, behind := range []string{",", ",2,3,4,5,6,7,8,9,10"} {
			if v, end := PlainNumber([]byte(text+behind), 0, '.'); end >= 0 {
				t.Errorf("%q is read as %v", text, v)
			}
		}
	}
	if _, end := PlainNumber([]byte("1e5,"), 0, '.'); end != 1 { // the e is no delimiter, so the row is left
		t.Errorf("1e5 ends at %d", end)
	}
}
