package inertia

import "testing"

// A throttle a few per cent open halves the drag. Stamps of whole seconds are off by up to half of one, which makes a tenth
// of a fall of two seconds in six values: a fall of half the rate is another thing all the same, and one that is a sixth
// slower is not.
func TestOpenThrottleUnderWholeSeconds(t *testing.T) {
	for rate, refused := range map[float64]bool{500: true, 830: false} {
		var runs []*Run
		for _, x := range []float64{1000, 1000, 1000, 1000, 1000, rate} {
			r := &Run{Kind: RevDown, Used: true}
			for i, off := range []float64{0.42, -0.42, -0.42, 0.42, 0.42, -0.42} {
				if i >= 3 {
					off = -off
				}
				r.T, r.RPM = append(r.T, 2000/x*float64(i)/5+off), append(r.RPM, 3500-400*float64(i))
			}
			runs = append(runs, r)
		}
		refuseOutliers(runs)
		for i, r := range runs {
			if want := refused && i == len(runs)-1; r.Used == want {
				t.Errorf("beside five of 1000 rpm/s one of %.0f: run %d is used %v", rate, i, r.Used)
			}
		}
	}
}
