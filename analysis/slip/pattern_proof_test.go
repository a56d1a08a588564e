//go:build proof

package slip_test

import (
	"fmt"
	"slices"
	"testing"

	"flywitness/analysis/slip"
	"flywitness/sim/field"
)

// TestProofPatterns names how clutches slip that slip in a known way: FLYWITNESS_FIELD_N logs a class (14), from
// FLYWITNESS_FIELD_SEED0 on. A name is right, left open, or wrong.
func TestProofPatterns(t *testing.T) {
	n, seed0 := fieldNumber("FLYWITNESS_FIELD_N", 14), fieldNumber("FLYWITNESS_FIELD_SEED0", 1)
	fmt.Println("| how the clutch slips | logs called slips | named rightly | left open | wrongly | names |")
	fmt.Println("|---|---|---|---|---|---|")
	named, wrong := 0, 0
	for _, c := range []struct {
		class string
		right []slip.Pattern
	}{
		{"slip/hot", []slip.Pattern{slip.WithHeat}},
		{"slip/after-shifts", []slip.Pattern{slip.AfterShifts}},
		{"slip/top-gear", []slip.Pattern{slip.AboveTorque}},
		{"slip/large", []slip.Pattern{slip.AboveTorque, slip.Everywhere}},
		{"slip/oil", []slip.Pattern{slip.AboveTorque, slip.Everywhere}},
		{"ordinary/20min", []slip.Pattern{slip.AboveTorque}},
	} {
		for _, file := range []string{"full", "nofile"} {
			name := c.class + "/" + file
			if c.class == "ordinary/20min" {
				name += "/load/can"
			}
			seen := patternsOf(t, name, n, uint64(seed0))
			good, open := 0, seen[slip.Unclear]+seen[""]
			for _, p := range c.right {
				good += seen[p]
			}
			all := 0
			for _, k := range seen {
				all += k
			}
			named, wrong = named+all-open, wrong+all-open-good
			fmt.Printf("| %s | %d | %d | %d | %d | %v |\n", name, all, good, open, all-open-good, seen)
		}
	}
	if lo, _ := exact(wrong, named); lo > 0.01 {
		t.Errorf("%d of %d patterns are named wrongly", wrong, named)
	}
}

// patternsOf counts the patterns of the logs of a class that are called slips.
func patternsOf(t *testing.T, class string, n int, seed0 uint64) map[slip.Pattern]int {
	classes := field.Classes()
	i := slices.IndexFunc(classes, func(k field.Class) bool { return k.Name == class })
	if i < 0 {
		t.Fatalf("no class %s", class)
	}
	seen := map[slip.Pattern]int{}
	for _, p := range each(n, func(k int) string {
		f, _, err := judgeCase(classes[i].Make(seed0+uint64(k), false))
		if err != nil || f.Verdict != slip.Slips {
			return "-"
		}
		return string(f.Pattern)
	}) {
		if p != "-" {
			seen[slip.Pattern(p)]++
		}
	}
	return seen
}
