package tomlfile

import (
	"math"
	"strings"
)

// Nearest returns the known name that is most like name, whatever the case of its letters; "" when none is known. Of
// several the first counts.
func Nearest(name string, known []string) string {
	best, distance := "", math.MaxInt
	for _, k := range known {
		if n := editDistance(strings.ToLower(name), strings.ToLower(k)); n < distance {
			best, distance = k, n
		}
	}
	return best
}

// Likely returns the nearest known name where it is so near that it may be meant: a third of the letters and one more may
// differ. "" where none is.
func Likely(name string, known []string) string {
	best := Nearest(name, known)
	if best == "" || editDistance(strings.ToLower(name), strings.ToLower(best)) > 1+len(best)/3 {
		return ""
	}
	return best
}

// editDistance is the number of letters to insert, delete or replace to get from a to b (Levenshtein), over the first
// 64.
func editDistance(a, b string) int {
	x, y := []rune(a), []rune(b)
	x, y = x[:min(len(x), 64)], y[:min(len(y), 64)]
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		diagonal := row[0]
		row[0] = i + 1
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			diagonal, row[j+1] = row[j+1], min(row[j+1]+1, row[j]+1, diagonal+cost)
		}
	}
	return row[len(y)]
}
