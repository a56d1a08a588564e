//go:build proof

package slip_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/sim"
)

// receivers are what a satellite receiver may make of its height.
var receivers = []struct {
	name  string
	spoil func(l *sim.Logger)
	wrong func(rng *rand.Rand, v []float64)
}{
	{"none", nil, func(_ *rand.Rand, v []float64) { all(v, func(int) float64 { return math.NaN() }) }},
	{"as usual", nil, nil},
	{"12 s late", func(l *sim.Logger) { l.HeightLag = 12 }, nil},
	{"feet taken for metres", func(l *sim.Logger) { l.HeightScale = 1 / 0.3048 }, nil},
	{"wanders 40 m in a minute", func(l *sim.Logger) { l.HeightWander, l.HeightTau = 40, 60 }, nil},
	{"noise of 8 m", func(l *sim.Logger) { l.HeightNoise = 8 }, nil},
	{"hangs", nil, func(_ *rand.Rand, v []float64) { all(v, func(i int) float64 { return v[i-i%40] }) }},
	{"loses its place", nil, func(rng *rand.Rand, v []float64) {
		away := 0.0
		all(v, func(i int) float64 {
			if i%40 == 0 {
				away = 20 * rng.NormFloat64()
			}
			return v[i] + away
		})
	}},
}

// all sets every value.
func all(v []float64, to func(i int) float64) {
	for i := range v {
		v[i] = to(i)
	}
}

// heldWithin is the share of intervals of 95 % that hold the truth at least, a receiver that is wrong included.
const heldWithin = 0.90

// TestProofHeights prints the table of docs/accuracy-slip.md: what a receiver's height does for the torques held. No
// receiver makes a healthy car slip.
func TestProofHeights(t *testing.T) {
	const drives = 60
	for _, load := range []bool{false, true} {
		for _, r := range receivers {
			var within, slips float64
			var widths, errors []float64
			for seed := range uint64(drives) {
				rng := rand.New(rand.NewPCG(9000+seed, 4711))
				car := sim.Cars()[seed%4]
				road := sim.HillyRoad(rng, []float64{0.006, 0.02, 0.03}[seed%3], 300)
				var plan []sim.Action
				for range 4 {
					plan = append(plan, sim.Traffic(rng, 3, sim.GentleTraffic()), sim.Pull(3, 1900, 5000), sim.Pull(4, 1900, 4300))
				}
				truth := sim.Drive(car, road, plan, rng)
				_, f, _ := judgedLog(heightsOf(truth, load, r.spoil, r.wrong, rng), car.Vehicle, slip.Options{})
				if f.Verdict == slip.Slips {
					slips++
				}
				for _, p := range f.Pulls {
					if p.HeldTorque == nil || p.PeakTorque.Value < 80 {
						continue
					}
					most := heldTruly(truth, &p)
					if most == 0 {
						continue // over in half a second
					}
					widths = append(widths, p.HeldTorque.SD/most)
					errors = append(errors, p.HeldTorque.Value/most-1)
					if p.HeldTorque.CI95[0] <= most && most <= p.HeldTorque.CI95[1] {
						within++
					}
				}
			}
			t.Logf("| %v | %s | %d | %.3f, %.3f, %.3f | %.3f | %.3f | %.0f |", load, r.name, len(errors), stats.Quantile(errors, 0.1),
				stats.Quantile(errors, 0.5), stats.Quantile(errors, 0.9), within/float64(len(errors)), stats.Median(widths), slips)
			if slips > 0 || within < heldWithin*float64(len(errors)) {
				t.Errorf("load %v, %s: %.0f healthy drives slip, %.0f of %d torques inside their interval", load, r.name, slips, within, len(errors))
			}
		}
	}
}

// heightsOf is what a link and a receiver show of a drive.
func heightsOf(truth *sim.Truth, load bool, spoil func(*sim.Logger), wrong func(*rand.Rand, []float64), rng *rand.Rand) *drive.Log {
	lg := sim.NewLogger(sim.CANMulti)
	lg.RateHz = 8
	lg.Fast = []string{drive.EngineSpeed, drive.VehicleSpeed}
	if load {
		lg.Fast = append(lg.Fast, drive.EngineLoad)
	}
	lg.Slow, lg.SlowEvery = []string{drive.Altitude}, 8
	lg.HeightWander, lg.HeightTau, lg.HeightNoise = 3+7*rng.Float64(), 60+300*rng.Float64(), 0.2+0.6*rng.Float64()
	lg.HeightLag = 1.5 * rng.Float64()
	if spoil != nil {
		spoil(&lg)
	}
	l := lg.Record(truth, rng)
	if wrong != nil {
		wrong(rng, l.Channel(drive.Altitude).V)
	}
	return l
}
