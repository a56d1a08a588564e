package gearstate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
)

// A road speed that is refreshed less often than it is polled is recognised, and one that is fresh every time
// is left alone.
func TestRefreshIsRecognised(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(5, 5))
	truth := sim.Drive(sim.BenchMule(), sim.LevelRoad(), []sim.Action{sim.Traffic(rng, 10, sim.MixedTraffic())}, rng)
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		c := sim.NewLogger(link).Record(truth, rng).Channel(drive.VehicleSpeed)
		if every := gearstate.Refresh(c.T, c.V); every != 0 {
			t.Errorf("%v: fresh speeds are taken for refreshed every %.2f s", link, every)
		}
		if link == sim.KLine {
			continue
		}
		for _, want := range []float64{0.5, 1} {
			v, next, held := append([]float64(nil), c.V...), 0.0, 0.0
			for i, at := range c.T {
				if at >= next {
					next, held = next+want, c.V[i]
				}
				v[i] = held
			}
			every := gearstate.Refresh(c.T, v)
			if math.Abs(every-want) > 0.15 {
				t.Errorf("%v: refreshed every %.1f s, found %.2f", link, want, every)
			}
			at, _ := gearstate.Fresh(append([]float64(nil), c.T...), v, every)
			if rate := float64(len(at)) / truth.Duration(); rate > 1.1/want || rate < 0.5/want {
				t.Errorf("%v: refreshed every %.1f s, %.2f values a second are kept", link, want, rate)
			}
		}
	}
}

func TestRefreshOfNothing(t *testing.T) {
	if gearstate.Refresh(nil, nil) != 0 || gearstate.Refresh([]float64{1}, []float64{2}) != 0 {
		t.Error("a refresh of nothing")
	}
	if at, v := gearstate.Fresh(nil, nil, 1); len(at)+len(v) != 0 {
		t.Error("values from nothing")
	}
}

// A value that comes again within a refresh is the old one; half a refresh later it was read anew, and is the same.
// Below walking pace a display leaps by itself.
func TestRepeatedSpeeds(t *testing.T) {
	if at, _ := gearstate.Fresh([]float64{0, 0.1, 0.4, 0.75, 0.85}, []float64{50, 50, 50, 50, 50}, 0.5); len(at) != 2 || at[1] != 0.75 {
		t.Errorf("kept at %v s", at)
	}
	for from, want := range map[float64]float64{2: 0, 8: 0.5, 50: 0.5} {
		var at, v []float64
		for i := range 600 {
			x := from
			if i/5%2 == 1 {
				x += 6
			}
			at, v = append(at, 0.1*float64(i)), append(v, x+float64(i/300)) // a step of one, once
		}
		if every := gearstate.RefreshOf(at, v, 1); math.Abs(every-want) > 0.01 {
			t.Errorf("from %.0f km/h on: refreshed every %.2f s", from, every)
		}
	}
}
