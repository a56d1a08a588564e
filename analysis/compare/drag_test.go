package compare

import (
	"math"
	"slices"
	"testing"
	"time"

	"flywitness/drive"
)

// A remap changes air and fuel at equal drag, and nothing that flows shows it: where the control unit tells another
// calibration, the held engine corrects nothing, whether the job lists it or not.
func TestAnotherCalibrationIsAPartOfTheFlow(t *testing.T) {
	side := func(verification string) Side {
		return Side{Logs: []*drive.Log{{Header: []drive.Field{{Key: keyVerification, Value: verification}}}}}
	}
	for after, want := range map[string][]string{"1A2B3C4D": {"intake"}, "5E6F7081": {"intake", "calibration"}} {
		c := &comparison{before: side("1A2B3C4D"), after: side(after), opt: Options{FlowParts: []string{"intake"}}}
		c.identity()
		if got := c.flowParts(); !slices.Equal(got, want) {
			t.Errorf("%s after 1A2B3C4D: %v, want %v", after, got, want)
		}
	}
}

// By hand: with two degrees of freedom t is 4.303, so half of the interval of a variance of 4e-4 is 0.0861; a told
// variance of 1e-4 adds (1.960 x 0.01)^2 to its square, which makes 0.0883 of it.
func TestWhatIsToldCountsByTheNormalQuantile(t *testing.T) {
	a := &answer{variance: 4e-4, df: 2}
	a.widen(1e-4)
	e, _ := a.estimate()
	if half := math.Log(e.CI95[1]); math.Abs(half-0.0883) > 1e-4 {
		t.Errorf("half of the interval is %.4f", half)
	}
}

// One day is what was told, unless the dates deny it: nobody drives the side before on Monday and that after on Wednesday of
// one day.
func TestOneDayIsToldAndNotDenied(t *testing.T) {
	morning := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	side := func(at time.Time) Side { return Side{Logs: []*drive.Log{{Created: at}}} }
	for _, c := range []struct {
		told  bool
		after time.Time
		want  bool
	}{
		{true, morning.Add(9 * time.Hour), true},
		{true, morning.Add(57 * time.Hour), false},
		{true, time.Time{}, true},
		{false, morning.Add(9 * time.Hour), false},
	} {
		x := &comparison{before: side(morning), after: side(c.after), opt: Options{SameDay: c.told}}
		if got := x.sameDay(); got != c.want || (len(x.warnings) > 0) != (c.told && !c.want) {
			t.Errorf("told %v, the side after on %v: %v, warned %v", c.told, c.after, got, x.warnings)
		}
	}
}
