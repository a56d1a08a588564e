package motion

import (
	"math"
	"testing"

	"flywitness/analysis/gearstate"
)

// ladder is the gearing of the hand-made track, rpm per km/h.
var ladder = []float64{120, 70, 46, 34}

// leg is a stretch of a hand-made track: for s seconds, at a km/h/s, with a load, the engine at a multiple of its
// speed in gear `as`, labelled with a gear and a clutch state.
type leg struct {
	s, a, load float64
	gear       int
	clutch     gearstate.Clutch
	as         int     // 0: gear
	times      float64 // 0: 1
	rpm        float64 // where it is not that of a gear
}

const locked, open, slipping = gearstate.Locked, gearstate.Open, gearstate.Slipping

// track writes a drive down sample by sample, from v km/h on, a value every 0.05 s.
func track(v float64, legs ...leg) *gearstate.Track { return trackEvery(0.05, v, legs...) }

// trackEvery does so with a value every period s.
func trackEvery(period, v float64, legs ...leg) *gearstate.Track {
	t := &gearstate.Track{Model: gearstate.Model{Period: period, Step: 0.1, Idle: 800}}
	for i, k := range ladder {
		t.Model.Gears = append(t.Model.Gears, gearstate.Gearing{Number: i + 1, K: k})
	}
	now := 0.0
	for _, l := range legs {
		for range int(math.Round(l.s / period)) {
			s := gearstate.State{Gear: l.gear, Clutch: l.clutch, Excess: math.NaN()}
			s.T, s.V, s.A, s.Load, s.N = now, v, l.a, l.load, l.rpm
			as := l.as
			if as == 0 {
				as = l.gear
			}
			if as > 0 {
				s.N = v * ladder[as-1] * math.Max(1, l.times)
			}
			if l.gear > 0 {
				s.Excess = s.N/ladder[l.gear-1] - v
			}
			t.Append(s)
			now, v = now+period, v+l.a*period
		}
	}
	return t
}

func near(t *testing.T, what string, got, want, by float64) {
	t.Helper()
	if !(math.Abs(got-want) <= by) {
		t.Errorf("%s: %.6g, by hand %.6g", what, got, want)
	}
}
