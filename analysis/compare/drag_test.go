package compare

import (
	"slices"
	"testing"

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
