package detect

import (
	"math"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// What is left of a slip in a moving average, by adding it up in steps of a millisecond.
func TestShownOfAnAveragedSlip(t *testing.T) {
	const step = 0.001
	for _, c := range [][2]float64{{1.5, 0.3}, {1.5, 1}, {1.5, 1.5}, {1.5, 2}, {1, 2.5}, {3, 1}, {6, 0.6}, {1.5, 0}} {
		d, w := int(math.Round(c[0]/step)), int(math.Round(c[1]/step))
		averaged := make([]float64, d+w)
		for i := range averaged {
			if w == 0 {
				averaged[i] = 1
				continue
			}
			averaged[i] = float64(min(i+1, d)-max(0, i+1-w)) / float64(w)
		}
		best := 0.0
		for lo := 0; lo+d <= len(averaged); lo += max(1, w/20) {
			sum := 0.0
			for _, x := range averaged[lo : lo+d] {
				sum += x
			}
			best = max(best, sum/float64(d))
		}
		if got := shown(c[0], c[1]); math.Abs(got-best) > 0.005 {
			t.Errorf("a slip of %g s averaged over %g s: %.3f of it shows, want %.3f", c[0], c[1], got, best)
		}
	}
}

func TestAveragedValuesCountOncePerAverage(t *testing.T) {
	tr := &gearstate.Track{Model: gearstate.Model{Averaged: 0.5}}
	for i := range 61 {
		tr.T = append(tr.T, float64(i)*0.05)
	}
	r := &Record{Record: &motion.Record{Track: tr}}
	if n := r.values(0, 61); math.Abs(n-7) > 1e-9 {
		t.Errorf("3 s of averages over half a second are %g values, want 7", n)
	}
	tr.Model.Averaged, tr.Model.Drawn = 0, 1
	if n := r.values(0, 61); math.Abs(n-4) > 1e-9 {
		t.Errorf("3 s of lines from second to second are %g values, want 4", n)
	}
	tr.Model.Drawn = 0
	if n := r.values(0, 61); n != 61 {
		t.Errorf("61 values that were not averaged count as %g", n)
	}
}
