package detect

import "testing"

// A change of gear takes a second, and three of who is in no hurry. Who rolls for ten seconds before the next gear goes in
// coasts, and what heat goes into the clutch then is no change of gear's.
func TestChangesOfGearAreQuickerThanCoasting(t *testing.T) {
	for seconds, want := range map[float64]int{1: 1, 3.5: 1, 10: 0} {
		r := at(60, 0.1).drive(leg{s: 5, gear: 3, load: 0.3}, leg{s: seconds, rpm: 1200, load: 0}, leg{s: 5, gear: 4, load: 0.3}).record()
		if got := r.Engagements(noForce()); len(got) != want || want > 0 && got[0].Kind != Upshift {
			t.Errorf("%.1f s without a gear: %+v", seconds, got)
		}
	}
}
