package inertia_test

import (
	"math"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/drive"
)

// fallingLog is four falls of 2000 rpm/s from 5200 rpm to an idle of 850, sampled every interval s, with a
// throttle that is shut in the falls above caught rpm and a little open below.
func fallingLog(interval, caught float64) *drive.Log {
	rpm, throttle := &drive.Channel{Name: drive.EngineSpeed}, &drive.Channel{Name: drive.Throttle}
	at := func(t float64) (n, open float64) {
		switch s := math.Mod(t, 10); {
		case s < 4:
			return 850, 12
		case s < 5:
			return 850 + 4350*(s-4), 60
		default:
			n, open = math.Max(850, 5200-2000*(s-5)), 10
			if n < caught {
				open = 16
			}
			return n, open
		}
	}
	for i := range int(44 / interval) {
		t := float64(i) * interval * 1.0037 // out of step with the falls
		n, _ := at(t)
		_, open := at(t + interval/2)
		rpm.T, rpm.V = append(rpm.T, t), append(rpm.V, n)
		throttle.T, throttle.V = append(throttle.T, t+interval/2), append(throttle.V, open)
	}
	return &drive.Log{Path: "falls", Channels: []*drive.Channel{rpm, throttle}}
}

// A slow link leaves few samples a fall, and they are used down to just above the idle controller; a faster one
// has enough without. Where the controller opens the throttle early, the fall is good above that.
func TestFallsOfASlowLinkAreUsedFurtherDown(t *testing.T) {
	for _, c := range []struct {
		interval, caught, bottom float64
	}{{0.4, 0, 1250}, {0.125, 0, 1500}, {0.4, 1900, 1500}} {
		f, _ := inertia.Measure([]*drive.Log{fallingLog(c.interval, c.caught)}, nil, nil, inertia.Options{})
		runs := f.FreeRevs(inertia.RevDown)
		if len(runs) != 4 {
			t.Errorf("a sample every %g s, throttle open below %g rpm: %d of 4 falls used: %+v", c.interval, c.caught,
				len(runs), f.Runs)
			continue
		}
		lowest := math.Inf(1)
		for _, r := range runs {
			if r.Why != "" || r.WhyNot.String() != "" {
				t.Errorf("a sample every %g s: a used fall with a reason against it: %s", c.interval, r.WhyNot)
			}
			lowest = math.Min(lowest, r.RPM[len(r.RPM)-1])
		}
		if lowest < c.bottom || c.caught == 0 && lowest > c.bottom+300 {
			t.Errorf("a sample every %g s, throttle open below %g rpm: the lowest sample used is at %.0f rpm, want just "+
				"above %g", c.interval, c.caught, lowest, c.bottom)
		}
	}
}
