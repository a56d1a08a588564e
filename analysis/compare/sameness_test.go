package compare

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Schuirmann's two one-sided tests (Journal of Pharmacokinetics and Biopharmaceutics 15, 1987, from memory)
// with a known spread: sameness within a margin is shown with power 1 - 2 beta where margin = sd (z_{1-alpha} +
// z_{1-beta}); here alpha is 2.5 % and the power 80 %, so that ln(1.03) / sqrt(2 u^2 / m) >= 1.960 + 1.282.
func TestSessionsForNoChangeByHand(t *testing.T) {
	// By hand with many degrees of freedom: u = 1 %, no scatter of runs: m >= 2 (0.01 * 3.2415 / ln 1.03)^2 =
	// 2.4. With few degrees of freedom it takes more.
	m, ok := SessionsForNoChange(0.03, 6, 1e-9, 0.01)
	if !ok || m < 3 || m > 5 {
		t.Errorf("%d sessions, by hand 3 and a little for the few degrees of freedom", m)
	}
	if got, want := SameWithin(1, 6, 1e-9, 0.02), math.Expm1(0.02*math.Sqrt2*3.2415); math.Abs(got-want) > 1e-4 {
		t.Errorf("one session: within %.4f, by hand %.4f", got, want)
	}
	if _, ok := SessionsForNoChange(0.001, 6, 0.02, 0.04); ok {
		t.Error("0.1 % can be shown")
	}
}

// One sitting a side never says "no change" at the usual margin, and says what would; at the margin that it is
// told it can have, it does.
func TestNoChangeIsWithinReachAndSaid(t *testing.T) {
	f := pair(0.22, 0.22, 1, 8, 0, 3, Options{Checklist: true})
	if f.Verdict != Inconclusive {
		t.Fatalf("%s", f.Verdict)
	}
	said := fmt.Sprint(f.WhatToDrive)
	for _, want := range []string{"to show that nothing changed within the margin of 3 %: about ", "sittings a side",
		"one sitting a side can show it within about "} {
		if !strings.Contains(said, want) {
			t.Errorf("%q does not say %q", said, want)
		}
	}
	reached := 0
	for number := range uint64(10) {
		if pair(0.22, 0.22, 1, 8, 0, number, Options{Checklist: true,
			Margin: SameWithin(1, 8, 0.017, sessionSDChecklist)}).Verdict == NoChange {
			reached++
		}
	}
	if reached < 7 {
		t.Errorf("reached in %d of 10 at the margin that is promised", reached)
	}
}
