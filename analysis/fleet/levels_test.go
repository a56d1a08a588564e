package fleet

import (
	"fmt"
	"math"
	"testing"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// line is the drift of three jobs a year apart whose inertia rises by a share a year; its slope lies z standard
// deviations from level. By hand: of three values sd at -1, 0, 1 years the slope has sd/sqrt(2).
func line(share, z float64) *Drift {
	var list []Entry
	for k := range 3 {
		list = append(list, Entry{Vehicle: "a", Job: fmt.Sprint(k), Side: After, Time: after(365 * k),
			Inertia: stats.Normal(0.15*(1+share*float64(k)), 0.15*share*math.Sqrt2/z)})
	}
	return drift(list)
}

// Of a thousand healthy vehicles one may be cried wolf at: 3.29 standard deviations (any table of the normal
// distribution). What chance does to one in five hundred (3.1) is no alarm, what it does to one in two thousand
// (3.5) is.
func TestLevelOfTheAlarm(t *testing.T) {
	for z, want := range map[float64]bool{3.1: false, 3.5: true} {
		if d := line(0.04, z); d == nil || d.Confirmed != want {
			t.Errorf("%g standard deviations: %+v", z, d)
		}
	}
	lost := func(z float64) Vehicle {
		return one(t, after(110), Entry{Vehicle: "a", Job: "1", Side: After, Time: after(0), Slip: "holds", Done: "x",
			Held: stats.Normal(280, 10)},
			Entry{Vehicle: "a", Job: "2", Side: After, Time: after(100), Slip: "slips", Done: "x",
				Onset: stats.Normal(280-z*10*math.Sqrt2, 10)})
	}
	if v := lost(2.9); codes(v) != string(finding.SlipsSince) { // one in 540, one-sided
		t.Errorf("2.9 standard deviations: %s", codes(v))
	}
	if v := lost(3.3); codes(v) != string(finding.LostCapacity) { // one in 2100
		t.Errorf("3.3 standard deviations: %s", codes(v))
	}
}

// A sure change is somebody's concern from the equivalence margin of a comparison on: 6 % over two years is, 2 % is
// not.
func TestSmallestChangeOfConcern(t *testing.T) {
	for share, want := range map[float64]bool{0.03: true, 0.01: false} {
		if d := line(share, 20); d == nil || d.Confirmed != want {
			t.Errorf("%g a year: %+v", share, d)
		}
	}
}

// A rating that cannot be makes no margin that JSON could not hold.
func TestMarginOfNonsense(t *testing.T) {
	rating := 1e-10
	if m, why := margin(Entry{Held: stats.Normal(1e308, 1), Rating: &rating}); m != nil || len(why) == 0 {
		t.Errorf("%+v %q", m, why)
	}
	if d := line(1e-12, 1e-300); d != nil && !finite(d.PerYear) {
		t.Errorf("%+v", d.PerYear)
	}
}
