package slip_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/sim"
)

// BenchmarkHour is what a person waits for: calibrated, decoded and judged, for logs of 20 Hz.
func BenchmarkHour(b *testing.B) {
	for _, h := range []int{1, 4} {
		b.Run(fmt.Sprintf("%dh", h), func(b *testing.B) {
			rng := rand.New(rand.NewPCG(3, 4))
			car := sim.BenchMule()
			truth := sim.Drive(car, sim.HillyRoad(rng, 0.015, 300), []sim.Action{sim.Traffic(rng, 60*float64(h), sim.MixedTraffic())}, rng)
			logs := []*drive.Log{sim.RandomLogger(sim.CANMulti, rng).Record(truth, rng)}
			b.ResetTimer()
			for range b.N {
				cal, _ := calibrate.Learn(logs, car.Vehicle)
				tracks := []*gearstate.Track{gearstate.Decode(logs[0], cal.Model())}
				slip.Judge(logs, tracks, car.Vehicle, cal, slip.Options{})
			}
		})
	}
}
